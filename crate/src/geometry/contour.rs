//! Lines of straight pieces and true arcs: what is cut, drawn and printed.
//!
//! Every piece is given by its ends and its bulge, the tangent of a quarter of the angle it turns by: 0 is straight,
//! positive turns counter-clockwise, 1 is half a circle. That is the form of the shops' files, so what is measured
//! here is what stands in them.

use std::f64::consts::{PI, TAU};

use glam::DVec2;

/// A place on a contour, with the bulge of the piece from it to the next.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Vertex {
    pub at: DVec2,
    /// Between -1 and 1: no piece turns by more than half a circle.
    pub bulge: f64,
}

/// A line of straight pieces and arcs, mm.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Contour {
    pub vertices: Vec<Vertex>,
    /// Whether the last vertex is joined to the first; the first is not repeated.
    pub closed: bool,
}

/// One piece of a contour.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Piece {
    pub from: DVec2,
    pub to: DVec2,
    pub bulge: f64,
}

/// Circle of a piece that is an arc.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Arc {
    pub centre: DVec2,
    pub radius: f64,
    /// Radians turned from the piece's start to its end, positive counter-clockwise.
    pub sweep: f64,
}

impl Piece {
    /// The circle the piece lies on; none for a straight one.
    pub fn arc(&self) -> Option<Arc> {
        let chord = self.to - self.from;
        if self.bulge == 0.0 || chord == DVec2::ZERO {
            return None;
        }
        let bulge = self.bulge;
        let centre =
            (self.from + self.to) / 2.0 + chord.perp() * ((1.0 - bulge * bulge) / (4.0 * bulge));
        let radius = chord.length() * (1.0 + bulge * bulge) / (4.0 * bulge.abs());
        Some(Arc { centre, radius, sweep: 4.0 * libm::atan(bulge) })
    }

    pub fn length(&self) -> f64 {
        self.arc().map_or_else(|| self.from.distance(self.to), |arc| arc.radius * arc.sweep.abs())
    }

    /// Point at a share of the way from start (0) to end (1).
    pub fn point(&self, share: f64) -> DVec2 {
        match self.arc() {
            Some(arc) => {
                let turned = super::frame::unit(arc.sweep * share);
                arc.centre + turned.rotate(self.from - arc.centre)
            }
            None => self.from.lerp(self.to, share),
        }
    }

    /// Unit direction in which the piece leaves its start or reaches its end.
    pub fn direction(&self, at_end: bool) -> DVec2 {
        let chord = (self.to - self.from).normalize_or_zero();
        let half = 2.0 * libm::atan(self.bulge);
        super::frame::unit(if at_end { half } else { -half }).rotate(chord)
    }

    /// Nearest point of the piece to a place.
    pub fn nearest(&self, place: DVec2) -> DVec2 {
        let Some(arc) = self.arc() else {
            return super::outline::nearest_on_line(self.from, self.to, place);
        };
        let (start, reach) = (self.from - arc.centre, place - arc.centre);
        let mut turned = libm::atan2(start.perp_dot(reach), start.dot(reach)) * arc.sweep.signum();
        if turned < 0.0 {
            turned += TAU;
        }
        if turned <= arc.sweep.abs() && reach != DVec2::ZERO {
            return arc.centre + reach * (arc.radius / reach.length());
        }
        let nearer = place.distance_squared(self.from) <= place.distance_squared(self.to);
        if nearer { self.from } else { self.to }
    }

    /// Points from start to end, the end left out, whose chords depart from the piece by `chord_error` mm at most.
    fn flattened(&self, chord_error: f64, points: &mut Vec<DVec2>) {
        let steps = self.arc().map_or(1.0, |arc| {
            // A chord over a step leaves the circle by nearly radius step² / 8.
            let step = (8.0 * chord_error / arc.radius).sqrt().min(PI / 4.0);
            (arc.sweep.abs() / step).ceil().clamp(1.0, 4096.0)
        });
        // Between 1 and 4096.
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
        let count = steps as u32;
        points.extend((0..count).map(|i| self.point(f64::from(i) / steps)));
    }
}

impl Contour {
    /// Straight pieces through the points.
    pub fn through(points: &[DVec2], closed: bool) -> Self {
        let vertices = points.iter().map(|&at| Vertex { at, bulge: 0.0 }).collect();
        Self { vertices, closed }
    }

    /// One straight piece.
    pub fn line(from: DVec2, to: DVec2) -> Self {
        Self::through(&[from, to], false)
    }

    /// A circle, counter-clockwise: two half arcs.
    pub fn circle(centre: DVec2, radius: f64) -> Self {
        let side = |x: f64| Vertex { at: centre + DVec2::new(x, 0.0), bulge: 1.0 };
        Self { vertices: vec![side(-radius), side(radius)], closed: true }
    }

    /// An arc about a centre, from one angle (radians) to a greater one, open.
    pub fn arc(centre: DVec2, radius: f64, from: f64, to: f64) -> Self {
        let halves = if to - from > PI { 2 } else { 1 };
        let step = (to - from) / f64::from(halves);
        let bulge = libm::tan(step / 4.0);
        let vertices = (0..=halves)
            .map(|i| Vertex {
                at: centre + super::frame::unit(from + step * f64::from(i)) * radius,
                bulge: if i == halves { 0.0 } else { bulge },
            })
            .collect();
        Self { vertices, closed: false }
    }

    /// The pieces in order.
    pub fn pieces(&self) -> impl Iterator<Item = Piece> + '_ {
        let count = self.vertices.len();
        let ends = if self.closed { count } else { count.saturating_sub(1) };
        self.vertices
            .iter()
            .zip(self.vertices.iter().cycle().skip(1))
            .take(ends)
            .map(|(from, to)| Piece { from: from.at, to: to.at, bulge: from.bulge })
    }

    /// Enclosed area of a closed contour, mm²: positive counter-clockwise. Exact: the polygon's, and the segment
    /// between each arc and its chord.
    pub fn area(&self) -> f64 {
        let base = self.vertices.first().map_or(DVec2::ZERO, |vertex| vertex.at);
        self.pieces()
            .map(|piece| {
                let polygon = (piece.from - base).perp_dot(piece.to - base) / 2.0;
                let segment = piece.arc().map_or(0.0, |arc| {
                    arc.radius * arc.radius * (arc.sweep - libm::sin(arc.sweep)) / 2.0
                });
                polygon + segment
            })
            .sum()
    }

    pub fn length(&self) -> f64 {
        self.pieces().map(|piece| piece.length()).sum()
    }

    /// Least and greatest coordinates, arcs' own bulges among them.
    pub fn bounds(&self) -> (DVec2, DVec2) {
        let none = (DVec2::splat(f64::INFINITY), DVec2::splat(f64::NEG_INFINITY));
        let with = |(low, high): (DVec2, DVec2), point: DVec2| (low.min(point), high.max(point));
        let mut sum = self.vertices.iter().fold(none, |sum, vertex| with(sum, vertex.at));
        for piece in self.pieces() {
            let Some(arc) = piece.arc() else { continue };
            for way in [DVec2::X, DVec2::Y, DVec2::NEG_X, DVec2::NEG_Y] {
                let far = arc.centre + way * arc.radius;
                if piece.nearest(far).distance_squared(far) < 1e-18 {
                    sum = with(sum, far);
                }
            }
        }
        sum
    }

    /// The contour as a line of points whose chords depart from it by `chord_error` mm at most; a closed one does not
    /// repeat its first point.
    pub fn flattened(&self, chord_error: f64) -> Vec<DVec2> {
        let mut points = Vec::new();
        for piece in self.pieces() {
            piece.flattened(chord_error, &mut points);
        }
        if !self.closed {
            points.extend(self.vertices.last().map(|vertex| vertex.at));
        }
        points
    }

    /// Distance from a place to the nearest point of the contour, and that point.
    pub fn nearest(&self, place: DVec2) -> (f64, DVec2) {
        self.pieces().map(|piece| piece.nearest(place)).fold(
            (f64::INFINITY, place),
            |best, near| {
                let distance = near.distance(place);
                if distance < best.0 { (distance, near) } else { best }
            },
        )
    }

    /// The contour moved point by point; the map must keep angles, and not mirror.
    pub fn moved(&self, place: impl Fn(DVec2) -> DVec2) -> Self {
        let vertices =
            self.vertices.iter().map(|vertex| Vertex { at: place(vertex.at), ..*vertex }).collect();
        Self { vertices, closed: self.closed }
    }

    /// The contour `scale` times as large, its origin put at a place.
    pub fn moved_and_scaled(&self, origin: DVec2, scale: f64) -> Self {
        self.moved(|point| origin + point * scale)
    }

    /// The contour run through backwards.
    pub fn reversed(&self) -> Self {
        let count = self.vertices.len();
        let vertices = (0..count)
            .filter_map(|i| {
                let vertex = self.vertices.get(count - 1 - i)?;
                // The bulge of the piece that ends here, run backwards.
                let before = (2 * count - 2 - i) % count;
                let bulge = self.vertices.get(before).map_or(0.0, |vertex| -vertex.bulge);
                Some(Vertex { at: vertex.at, bulge })
            })
            .collect();
        Self { vertices, closed: self.closed }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A stadium of straight length 4 and radius 1, counter-clockwise.
    fn stadium() -> Contour {
        let at = |x: f64, y: f64, bulge: f64| Vertex { at: DVec2::new(x, y), bulge };
        Contour {
            vertices: vec![
                at(-2.0, -1.0, 0.0),
                at(2.0, -1.0, 1.0),
                at(2.0, 1.0, 0.0),
                at(-2.0, 1.0, 1.0),
            ],
            closed: true,
        }
    }

    #[test]
    fn area_length_and_box_of_a_stadium_are_closed_form() {
        let stadium = stadium();
        assert!((stadium.area() - (8.0 + PI)).abs() < 1e-12);
        assert!((stadium.length() - (8.0 + TAU)).abs() < 1e-12);
        let (low, high) = stadium.bounds();
        assert!((low - DVec2::new(-3.0, -1.0)).length() < 1e-12);
        assert!((high - DVec2::new(3.0, 1.0)).length() < 1e-12);
        assert!((stadium.reversed().area() + (8.0 + PI)).abs() < 1e-12);
        for point in stadium.reversed().flattened(1e-4) {
            assert!(stadium.nearest(point).0 < 1e-12);
        }
    }

    /// Truth: a quarter circle has bulge tan(90 degrees / 4), and its circle is the one it was made from.
    #[test]
    fn a_quarter_arc_lies_on_its_circle() {
        let centre = DVec2::new(3.0, -2.0);
        let arc = Contour::arc(centre, 5.0, 0.3, 0.3 + PI / 2.0);
        assert!((arc.vertices[0].bulge - libm::tan(PI / 8.0)).abs() < 1e-15);
        let piece = arc.pieces().next().expect("a piece");
        let circle = piece.arc().expect("an arc");
        assert!((circle.centre - centre).length() < 1e-12);
        assert!((circle.radius - 5.0).abs() < 1e-12);
        assert!((piece.length() - 5.0 * PI / 2.0).abs() < 1e-12);
        let along = super::super::frame::unit(0.3).perp();
        assert!((piece.direction(false) - along).length() < 1e-12);
        let wide = Contour::arc(centre, 5.0, 0.0, 1.5 * PI);
        assert!((wide.length() - 7.5 * PI).abs() < 1e-12);
        assert!(wide.vertices.iter().all(|vertex| vertex.bulge.abs() <= 1.0));
    }

    #[test]
    fn flattened_points_keep_to_their_chord_error() {
        let circle = Contour::circle(DVec2::ZERO, 40.0);
        let points = circle.flattened(0.01);
        for (a, b) in points.iter().zip(points.iter().cycle().skip(1)) {
            let sag = 40.0 - ((*a + *b) / 2.0).length();
            assert!((0.0..=0.01).contains(&sag), "{sag}");
        }
    }
}
