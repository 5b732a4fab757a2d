//! Patches formed on the neck, laid flat.
//!
//! A patch on the straight, tapered tube is a piece of a cone and lies flat exactly: two arcs and two straight sides.
//! On a bend the metal has to stretch and shrink (the surface has curvature of its own), and no blank is exact; this one
//! keeps, at every station, the true width of the neutral surface, and gives it the mean of the lengths the metal has
//! there across the patch. So the blank's area is that of the neutral surface, and where there is no bend it is the cone's
//! development.

use glam::DVec2;

use crate::geometry::arc_fit::{STRAIGHT, fitted};
use crate::geometry::contour::{Contour, Vertex};
use crate::geometry::cubic::Cubic;
use crate::geometry::shape::{Rate, Sweep};
use crate::tables::bending::neutral_share;

/// Curves are followed to this, mm: half of the hundredth that is promised.
pub const FIT: f64 = 0.005;
/// Greatest distance between stations whose lengths are kept, mm.
const STEP: f64 = 0.5;
/// Taper under which the blank is laid out straight: its ends would depart from lines by less than 1e-6 mm.
const NO_TAPER: f64 = 1e-7;
/// Nodes and weights of Gauss and Legendre's rule of five points on 0 to 1.
const GAUSS: [(f64, f64); 5] = [
    (0.046_910_077_030_668_1, 0.118_463_442_528_094_54),
    (0.230_765_344_947_158_45, 0.239_314_335_249_683_23),
    (0.5, 0.284_444_444_444_444_44),
    (0.769_234_655_052_841_5, 0.239_314_335_249_683_23),
    (0.953_089_922_969_332, 0.118_463_442_528_094_54),
];

/// A patch laid flat: x along the neck, y round it towards growing azimuth, both as seen from outside. The middle of the
/// end with the least station is at the origin.
#[derive(Debug)]
pub struct Developed<'a> {
    sweep: &'a Sweep,
    /// Share of the thickness at which the neutral surface lies, from the inside.
    pub share: f64,
    /// Thickness, mm.
    pub thickness: f64,
    /// Station and flat length up to it.
    nodes: Vec<(f64, f64)>,
    /// Distance from the origin back to the point the sides run together in; infinite on a cylinder.
    apex: f64,
    /// Length of the metal along the middle and along the edge that differs most from it, after forming.
    pub formed_lengths: (f64, f64),
}

/// Where an edge or the middle of the patch runs.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Edge {
    Low,
    Middle,
    High,
}

impl<'a> Developed<'a> {
    /// Lays a swept body flat whose first two corners are its inside from low to high azimuth, and whose third is its
    /// outside. None for a body of another form.
    pub fn new(sweep: &'a Sweep) -> Option<Self> {
        let [inner, _, outer, ..] = sweep.points.as_slice() else { return None };
        let neck = &*sweep.neck;
        let from = inner.radius.at(neck, sweep.from).value;
        let thickness = outer.radius.at(neck, sweep.from).value - from;
        let mut stations = stations(sweep);
        stations.dedup();
        // The sharpest bend counts: round the tube, unless the strip is bent more sharply along it.
        let inside = stations.iter().map(|s| inner.radius.at(neck, *s).value).fold(from, f64::min);
        let share = neutral_share(inside / thickness);
        let mut flat = Self {
            sweep,
            share,
            thickness,
            nodes: Vec::with_capacity(stations.len()),
            apex: f64::INFINITY,
            formed_lengths: (0.0, 0.0),
        };
        let mut length = 0.0;
        let mut edges = [0.0; 3];
        let mut last = sweep.from;
        for station in stations {
            let span = station - last;
            for (node, weight) in GAUSS {
                let at = last + span * node;
                length += span * weight * flat.mean_stretch(at);
                for (sum, edge) in edges.iter_mut().zip([Edge::Low, Edge::Middle, Edge::High]) {
                    *sum += span * weight * flat.stretch(at, flat.azimuth(at, edge).value);
                }
            }
            flat.nodes.push((station, length));
            last = station;
        }
        let rise = flat.radius(sweep.to).value - flat.radius(sweep.from).value;
        let taper = rise / length;
        if !taper.is_finite() {
            return None;
        }
        if taper.abs() > NO_TAPER {
            flat.apex = flat.radius(sweep.from).value / taper;
        }
        let [low, middle, high] = edges;
        let farther = if (low - middle).abs() > (high - middle).abs() { low } else { high };
        flat.formed_lengths = (middle, farther);
        Some(flat)
    }

    /// Length along the neck of the blank.
    pub fn length(&self) -> f64 {
        self.nodes.last().map_or(0.0, |node| node.1)
    }

    /// Radius of the neutral surface.
    fn radius(&self, station: f64) -> Rate {
        let neck = &*self.sweep.neck;
        let corner = |index: usize| {
            let point = self.sweep.points.get(index);
            point.map_or(Rate { value: 0.0, slope: 0.0 }, |point| point.radius.at(neck, station))
        };
        let (inner, outer) = (corner(0), corner(2));
        Rate {
            value: inner.value + (outer.value - inner.value) * self.share,
            slope: inner.slope + (outer.slope - inner.slope) * self.share,
        }
    }

    fn azimuth(&self, station: f64, edge: Edge) -> Rate {
        let corner = |index: usize| {
            let point = self.sweep.points.get(index);
            point.map_or(Rate { value: 0.0, slope: 0.0 }, |point| {
                point.angle(&self.sweep.neck, station)
            })
        };
        match edge {
            Edge::Low => corner(0),
            Edge::High => corner(1),
            Edge::Middle => {
                let (low, high) = (corner(0), corner(1));
                Rate {
                    value: f64::midpoint(low.value, high.value),
                    slope: f64::midpoint(low.slope, high.slope),
                }
            }
        }
    }

    /// Length of the neutral surface along the neck for each millimetre of station, at an azimuth: the centreline's,
    /// more or less by its curvature, and slanted by what the radius grows.
    fn stretch(&self, station: f64, azimuth: f64) -> f64 {
        let radius = self.radius(station);
        let curvature = self.sweep.neck.at(station).curvature;
        let along = 1.0 + curvature * radius.value * libm::cos(azimuth);
        (along * along + radius.slope * radius.slope).sqrt()
    }

    /// Its mean across the patch.
    fn mean_stretch(&self, station: f64) -> f64 {
        let low = self.azimuth(station, Edge::Low).value;
        let high = self.azimuth(station, Edge::High).value;
        GAUSS
            .iter()
            .map(|(node, weight)| weight * self.stretch(station, low + (high - low) * node))
            .sum()
    }

    /// Flat length at a station.
    pub fn along(&self, station: f64) -> f64 {
        let next = self.nodes.partition_point(|node| node.0 <= station);
        let (Some(b), Some(a)) =
            (self.nodes.get(next), next.checked_sub(1).and_then(|i| self.nodes.get(i)))
        else {
            return if next == 0 { 0.0 } else { self.length() };
        };
        let span = b.0 - a.0;
        let (start, end) = (self.mean_stretch(a.0), self.mean_stretch(b.0));
        Cubic::between(a.1, start, b.1, end, span).value((station - a.0) / span)
    }

    /// Place on the blank by station and length round the neutral surface from the middle, with its change by station
    /// when that length changes by `slope`.
    fn place(&self, station: f64, round: Rate) -> (DVec2, DVec2) {
        let (along, stretch) = (self.along(station), self.mean_stretch(station));
        if self.apex.is_infinite() {
            return (DVec2::new(along, round.value), DVec2::new(stretch, round.slope));
        }
        let reach = self.apex + along;
        let angle = round.value / reach;
        let turn = (round.slope * reach - round.value * stretch) / (reach * reach);
        let (sin, cos) = libm::sincos(angle);
        let spoke = DVec2::new(cos, sin);
        (
            spoke * reach - DVec2::new(self.apex, 0.0),
            spoke * stretch + spoke.perp() * (reach * turn),
        )
    }

    /// Place on the blank of a point of the neck, by station and azimuth.
    pub fn at(&self, station: f64, azimuth: f64) -> DVec2 {
        let middle = self.azimuth(station, Edge::Middle).value;
        let value = (azimuth - middle) * self.radius(station).value;
        self.place(station, Rate { value, slope: 0.0 }).0
    }

    /// Length round the neutral surface from the middle to an edge.
    fn round(&self, station: f64, edge: Edge) -> Rate {
        let (middle, edge) = (self.azimuth(station, Edge::Middle), self.azimuth(station, edge));
        let radius = self.radius(station);
        let turn = edge.value - middle.value;
        Rate {
            value: turn * radius.value,
            slope: (edge.slope - middle.slope) * radius.value + turn * radius.slope,
        }
    }

    /// Width of the blank at a station, along its arc.
    pub fn width(&self, station: f64) -> f64 {
        self.round(station, Edge::High).value - self.round(station, Edge::Low).value
    }

    /// Outline of the blank, counter-clockwise, and how far the curved sides were found to be from their arcs.
    pub fn outline(&self) -> (Contour, f64) {
        let (from, to) = (self.sweep.from, self.sweep.to);
        let (low, mut worst) = self.side(Edge::Low, from, to);
        let (high, off) = self.side(Edge::High, to, from);
        worst = worst.max(off);
        let end_bulge = |station: f64| {
            let reach = self.apex + self.along(station);
            let width = self.width(station);
            let bulge = libm::tan(width / reach / 4.0);
            // Half the width times the bulge is how far the arc stands off its chord.
            if (bulge * width / 2.0).abs() > STRAIGHT { bulge } else { 0.0 }
        };
        let corner = |station: f64, edge: Edge| self.place(station, self.round(station, edge)).0;
        let mut vertices = low;
        vertices.push(Vertex { at: corner(to, Edge::Low), bulge: end_bulge(to) });
        vertices.extend(high);
        vertices.push(Vertex { at: corner(from, Edge::High), bulge: -end_bulge(from) });
        (Contour { vertices, closed: true }, worst)
    }

    /// Vertices of one side, its end left out. The side is fitted between the stations where the neck changes its law.
    fn side(&self, edge: Edge, from: f64, to: f64) -> (Vec<Vertex>, f64) {
        let forward = to > from;
        let curve = |t: f64| {
            let station = if forward { t } else { -t };
            let (point, slope) = self.place(station, self.round(station, edge));
            (point, if forward { slope } else { -slope })
        };
        let (mut stations, _) = self.sweep.breaks();
        if !forward {
            stations.reverse();
        }
        let sign = if forward { 1.0 } else { -1.0 };
        let mut vertices: Vec<Vertex> = Vec::new();
        let mut worst: f64 = 0.0;
        // One line if it will do, whatever the neck under it does.
        let whole = fitted(&curve, sign * from, sign * to, FIT);
        if whole.0.len() == 1 {
            return whole;
        }
        for pair in stations.windows(2) {
            let (more, off) = fitted(&curve, sign * pair[0], sign * pair[1], FIT);
            vertices.extend(more);
            worst = worst.max(off);
        }
        (vertices, worst)
    }
}

/// Stations close enough to keep lengths at, those among them where the body changes its law.
fn stations(sweep: &Sweep) -> Vec<f64> {
    let (breaks, _) = sweep.breaks();
    let mut all = vec![sweep.from];
    for pair in breaks.windows(2) {
        let steps = ((pair[1] - pair[0]) / STEP).ceil().clamp(1.0, 1e4);
        // Between 1 and 10 000.
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
        all.extend(
            (1..=steps as u32).map(|i| pair[0] + (pair[1] - pair[0]) * f64::from(i) / steps),
        );
    }
    all
}

#[cfg(test)]
mod tests {
    use std::f64::consts::PI;
    use std::sync::Arc;

    use super::*;
    use crate::geometry::bore::Bore;
    use crate::geometry::centreline::{Centreline, Course};
    use crate::geometry::neck::Neck;
    use crate::geometry::shape::{Azimuth, Link, Radius, SectionPoint};
    use crate::units::rad_from_deg;

    /// A patch between two azimuths whose middle surface lies on the bore, over stations of one course.
    fn patch(course: Course, bore: Bore, azimuths: (f64, f64), thickness: f64) -> Sweep {
        let centreline = Centreline::new(&[course]);
        let to = centreline.length();
        let corner = |azimuth: f64, side: f64| SectionPoint {
            azimuth: Azimuth::Fixed(azimuth),
            radius: Radius::Bore(side * thickness / 2.0),
        };
        let (low, high) = azimuths;
        Sweep {
            neck: Arc::new(Neck { centreline, bore, wall: 0.7 }),
            from: 0.0,
            to,
            points: vec![
                corner(low, -1.0),
                corner(high, -1.0),
                corner(high, 1.0),
                corner(low, 1.0),
            ],
            links: vec![
                Link::Arc { growing: true },
                Link::Straight,
                Link::Arc { growing: false },
                Link::Straight,
            ],
        }
    }

    fn cylinder(radius: f64) -> Bore {
        Bore::Cone { entry_radius: radius, slope: 0.0 }
    }

    /// Truth: the net of a frustum. Radii 6.2 and 11.786506 mm, half-angle 1.6 degrees, 200 mm high: slant 200.078007,
    /// sector radii 222.050 and 422.128, 10.051790 degrees; checked with the printed net of a frustum of 5 and 8 in
    /// diameter, 4 in high: 7.12 and 11.39 in, 126.4 degrees ("The Net of a Frustum").
    #[test]
    fn a_cone_lies_flat_as_the_sector_of_its_net() {
        for (entry, exit, height, inner, outer, sector_deg) in [
            (6.2, 11.786_506, 200.0, 222.050, 422.128, 10.051_790),
            (2.5, 4.0, 4.0, 7.12, 11.392, 126.404_4),
        ] {
            let bore = Bore::Cone { entry_radius: entry, slope: (exit - entry) / height };
            let sweep = patch(Course::Straight { length: height }, bore, (-PI, PI), 0.01);
            let flat = Developed::new(&sweep).expect("a patch");
            assert_eq!(flat.share, 0.5);
            assert!((flat.apex - inner).abs() < 1e-3, "{}", flat.apex);
            assert!((flat.apex + flat.length() - outer).abs() < 1e-3);
            let (outline, _) = flat.outline();
            let turned: Vec<f64> =
                outline.pieces().filter_map(|piece| Some(piece.arc()?.sweep)).collect();
            assert_eq!(turned.len(), 2, "two arcs and two lines");
            for sweep in turned {
                assert!((sweep.abs() - rad_from_deg(sector_deg)).abs() < 1e-6, "{sweep}");
            }
            // Lateral area of a frustum: pi (r1 + r2) s.
            let slant = (height * height + (exit - entry) * (exit - entry)).sqrt();
            assert!((outline.area() / (PI * (entry + exit) * slant) - 1.0).abs() < 1e-9);
        }
    }

    /// Truth: the handbook's bend allowance, angle times (inside radius + K thickness). A narrow strip lies along the
    /// inside of the bend, so the inside of its own bend is its face away from the tube, and K is a half of both.
    #[test]
    fn a_narrow_strip_on_a_bend_is_as_long_as_the_handbook_says() {
        let (bend, radius, tube, thickness) = (rad_from_deg(75.0), 48.0, 9.0, 1.0);
        let half = 0.5 / tube;
        let course = Course::Bend { bend, radius };
        let sweep = patch(course, cylinder(tube), (PI - half, PI + half), thickness);
        let flat = Developed::new(&sweep).expect("a patch");
        let inside = radius - tube - thickness / 2.0;
        let handbook = bend * (inside + 0.5 * thickness);
        assert!((flat.formed_lengths.0 - handbook).abs() < 1e-9);
        // The blank has the mean across it: cos is sin(half) / half over the width.
        let mean = bend * (radius - tube * libm::sin(half) / half);
        assert!((flat.length() - mean).abs() < 1e-9);
        assert!((flat.length() - handbook).abs() < 0.01, "so narrow that both agree");
    }

    /// Truth: area of a piece of torus between azimuths of +/- w on its outside: r (2 w L + 2 r sin w angle).
    #[test]
    fn a_saddle_on_a_bend_keeps_the_area_of_its_middle() {
        let (bend, radius, tube, wrap) = (0.25, 48.0, 9.5, rad_from_deg(60.0));
        let sweep = patch(Course::Bend { bend, radius }, cylinder(tube), (-wrap, wrap), 0.8);
        let flat = Developed::new(&sweep).expect("a patch");
        let area = tube * (2.0 * wrap * bend * radius + 2.0 * tube * libm::sin(wrap) * bend);
        let (outline, _) = flat.outline();
        assert!((outline.area() - area).abs() < 1e-6, "{} of {area}", outline.area());
        assert!((flat.width(0.0) - 2.0 * wrap * tube).abs() < 1e-9);
        let (middle, edge) = flat.formed_lengths;
        assert!((middle - bend * (radius + tube)).abs() < 1e-9);
        assert!((edge - bend * (radius + tube * libm::cos(wrap))).abs() < 1e-9);
    }

    /// Truth: DIN 6935 for a wrap as tight as one and a half thicknesses inside.
    #[test]
    fn a_tight_wrap_is_laid_flat_nearer_its_inside() {
        let sweep = patch(Course::Straight { length: 20.0 }, cylinder(8.0), (-1.0, 1.0), 4.0);
        let flat = Developed::new(&sweep).expect("a patch");
        let share = (0.65 + 0.5 * libm::log10(6.0 / 4.0)) / 2.0;
        assert!((flat.share - share).abs() < 1e-12);
        assert!((flat.width(3.0) - 2.0 * (6.0 + share * 4.0)).abs() < 1e-9);
    }
}
