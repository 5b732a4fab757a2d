//! The neck from the side: cut through in the plane of the bend, what stands beside it as an outline.

use std::collections::BTreeMap;

use glam::{DVec2, DVec3};

use crate::exports::paper::{Anchor, Dash, Pen, Sheet};
use crate::model::Model;
use crate::solids::SolidError;
use crate::solids::mesh::SolidMesh;

use super::super::job_card::JobCard;
use super::drawing::Drawing;

/// Chord of the triangles that are cut, mm.
const CHORD: f64 = 0.05;
/// The cut lies a hair beside the plane of the bend, so that it meets no corner of a triangle.
const BESIDE: f64 = 0.007_3;
/// Corners nearer than this are one, mm.
const SAME: f64 = 1e-5;
/// Scales a drawing may have.
const SCALES: [(f64, &str); 5] =
    [(1.0, "1:1"), (0.8, "4:5"), (2.0 / 3.0, "2:3"), (0.5, "1:2"), (0.4, "2:5")];
/// Room round the drawing, mm on paper.
const ROUND: f64 = 1.0;
/// Distance of the line of stations from the tube's outside, mm on paper.
const RUNNING: f64 = 9.0;

/// Feet of lines nearer to each other than this are neighbours, mm on paper.
const NEIGHBOURS: f64 = 9.0;

/// Parts that lie beside the plane of the bend.
const OUTLINED: [&str; 6] =
    ["post_left", "hinge_tube", "hinge_screw", "rod_loop", "guide", "badge"];

/// A drawing in millimetres of paper, its lower left corner at the origin.
#[derive(Debug)]
pub struct SideView {
    sheet: Drawing,
    pub size: DVec2,
    pub scale: &'static str,
}

/// Corners of a mesh's triangles in the order of the triangles.
fn corners(mesh: &SolidMesh) -> Vec<[DVec3; 3]> {
    let positions: Vec<DVec3> = mesh.positions().collect();
    mesh.triangles()
        .filter_map(|triangle| {
            let [a, b, c] = triangle.map(|index| positions.get(index as usize).copied());
            Some([a?, b?, c?])
        })
        .collect()
}

fn flat(point: DVec3) -> DVec2 {
    DVec2::new(point.x, point.z)
}

/// Where triangles cross the plane.
fn cut(triangles: &[[DVec3; 3]]) -> Vec<(DVec2, DVec2)> {
    let mut lines = Vec::new();
    for triangle in triangles {
        let mut ends = Vec::new();
        for side in 0..3 {
            let (a, b) = (triangle[side], triangle[(side + 1) % 3]);
            let (u, v) = (a.y - BESIDE, b.y - BESIDE);
            if (u < 0.0) != (v < 0.0) {
                ends.push(flat(a.lerp(b, u / (u - v))));
            }
        }
        if let [from, to] = ends[..] {
            lines.push((from, to));
        }
    }
    lines
}

/// Edges at which triangles turn away from who looks along y.
fn outline(triangles: &[[DVec3; 3]]) -> Vec<(DVec2, DVec2)> {
    type Key = [i64; 3];
    let key = |point: DVec3| -> Key {
        point.to_array().map(|x| {
            #[expect(clippy::cast_possible_truncation, reason = "a neck is no kilometre long")]
            let step = (x / SAME).round() as i64;
            step
        })
    };
    let mut edges: BTreeMap<(Key, Key), (DVec3, DVec3, Vec<bool>)> = BTreeMap::new();
    for [a, b, c] in triangles {
        let faces = (*b - *a).cross(*c - *a).y > 0.0;
        for (from, to) in [(a, b), (b, c), (c, a)] {
            let (one, two) = (key(*from), key(*to));
            let name = if one <= two { (one, two) } else { (two, one) };
            edges.entry(name).or_insert((*from, *to, Vec::new())).2.push(faces);
        }
    }
    edges
        .into_values()
        .filter(|(_, _, faces)| faces.iter().any(|face| *face) && faces.iter().any(|face| !face))
        .map(|(from, to, _)| (flat(from), flat(to)))
        .collect()
}

impl SideView {
    /// The neck of a model, as large as the room allows.
    ///
    /// # Errors
    ///
    /// A part that cannot be divided into triangles.
    pub fn of(model: &Model, card: &JobCard, room: DVec2) -> Result<Self, SolidError> {
        let cut_pen = Pen::solid(0.25);
        let beside = Pen { grey: 0.45, ..Pen::solid(0.18) };
        let mut drawn: Vec<(DVec2, DVec2, Pen)> = Vec::new();
        for built in model.parts() {
            let triangles = corners(&built.mesh(CHORD)?);
            if OUTLINED.contains(&built.part.id) {
                drawn.extend(outline(&triangles).into_iter().map(|(a, b)| (a, b, beside)));
            }
            drawn.extend(cut(&triangles).into_iter().map(|(a, b)| (a, b, cut_pen)));
        }
        let mut smallest = None;
        for (scale, name) in SCALES {
            let view = Self::at_scale(model, card, &drawn, scale, name);
            if view.size.cmple(room).all() {
                return Ok(view);
            }
            smallest = Some(view);
        }
        Ok(smallest.unwrap_or_else(|| Self::at_scale(model, card, &drawn, 0.4, "2:5")))
    }

    fn at_scale(
        model: &Model,
        card: &JobCard,
        drawn: &[(DVec2, DVec2, Pen)],
        scale: f64,
        name: &'static str,
    ) -> Self {
        let mut laid = Laid { model, card, scale, on: Drawing::default() };
        for (from, to, pen) in drawn {
            laid.on.line(*from * scale, *to * scale, *pen);
        }
        laid.centreline();
        laid.ends();
        laid.tenon();
        laid.overall();
        laid.stations();
        laid.heights();
        let (low, high) = laid.on.bounds();
        let mut sheet = laid.on;
        sheet.shift(DVec2::splat(ROUND) - low);
        Self { sheet, size: high - low + 2.0 * ROUND, scale: name }
    }

    /// Puts the drawing on a sheet.
    pub fn put(self, sheet: &mut Sheet, corner: DVec2) {
        let mut drawing = self.sheet;
        drawing.shift(corner);
        sheet.marks.extend(drawing.into_marks());
    }
}

/// A drawing that is being laid out.
struct Laid<'a> {
    model: &'a Model,
    card: &'a JobCard,
    scale: f64,
    on: Drawing,
}

impl Laid<'_> {
    /// A place of the neck, on paper: at a station, so far from the centreline, mm.
    fn at(&self, station: f64, up: f64) -> DVec2 {
        let place = self.model.assembly.neck.at(station);
        flat(place.centre + place.up * up) * self.scale
    }

    fn length(&self) -> f64 {
        self.model.assembly.neck.centreline.length()
    }

    /// Station of the collar's seat on the receiver.
    fn seat(&self) -> f64 {
        self.length() - self.model.job.tenon.length_mm
    }

    /// The centreline with a tick every ten millimetres and its station every twenty.
    fn centreline(&mut self) {
        let chain = Pen::solid(0.13).dashed(Dash::Chain);
        let thin = Pen::solid(0.13);
        let length = self.length();
        let count = (length / 10.0).floor();
        let mut station = 0.0;
        while station <= count * 10.0 {
            let up = flat(self.model.assembly.neck.at(station).up);
            let half = if (station / 20.0).fract() == 0.0 { 1.6 } else { 0.9 };
            let middle = self.at(station, 0.0);
            self.on.line(middle - up * half, middle + up * half, thin);
            if half > 1.0 {
                let place = middle + up * 2.2 - DVec2::new(0.0, 0.8);
                self.on.words(place, format!("{station:.0}"), Anchor::Middle);
            }
            station += 10.0;
        }
        let steps = 240;
        let along = |k: i32| length * f64::from(k) / f64::from(steps);
        for k in 0..steps {
            let (from, to) = (self.at(along(k), 0.0), self.at(along(k + 1), 0.0));
            self.on.line(from, to, chain);
        }
    }

    /// Diameters at the cork end.
    fn ends(&mut self) {
        let job = &self.model.job;
        let back = -flat(self.model.assembly.neck.at(0.0).tangent);
        let bore = self.model.assembly.neck.bore.radius(0.0);
        let ring = job.end_ring.length_mm;
        for (station, radius, off, name) in [
            (0.0, bore, 5.0, "bore "),
            (ring / 2.0, job.end_ring.bead_diameter_mm / 2.0, 9.5, "bead "),
        ] {
            let (low, high) = (self.at(station, -radius), self.at(station, radius));
            let off = back * (off + station * self.scale);
            self.on.dimension(low, high, off, format!("{name}Ø{:.2}", 2.0 * radius));
        }
    }

    /// The tenon end: lengths along its axis, diameters across it.
    fn tenon(&mut self) {
        let job = &self.model.job;
        let (length, seat) = (self.length(), self.seat());
        let place = self.model.assembly.neck.at(length);
        let (along, bell) = (flat(place.tangent), flat(place.up));
        let outer = job.tenon.outer_diameter_mm / 2.0;
        let rod = job.rod_loop.reach_bell_mm + job.rod_loop.rod_diameter_mm;
        // One line for both, clear of the loop.
        let line = rod.max(job.tenon.collar_diameter_mm / 2.0) * self.scale + 5.0;
        let off = |from: f64| bell * (line - from * self.scale);
        let tenon = format!("{:.2}", job.tenon.length_mm);
        self.on.dimension(self.at(length, outer), self.at(seat, outer), off(outer), tenon);
        let above = seat - job.rod_loop.above_seat_mm;
        let words = format!("{:.2}", job.rod_loop.above_seat_mm);
        let (from, to) = (self.at(seat, outer), self.at(above, outer));
        self.on.dimension(from, to, off(outer), words);
        let target = &self.card.tenon.target;
        let words = match target.value {
            Some(_) if !self.card.tenon.places.is_empty() => format!("Ø{}", target.said(3)),
            Some(value) => format!("Ø{value:.2} only until gauged"),
            None => "Ø not known: see gauges".into(),
        };
        self.on.dimension(self.at(length, -outer), self.at(length, outer), along * 5.0, words);
        let bore = self.model.assembly.neck.bore.radius(length);
        let words = format!("bore Ø{:.2}", 2.0 * bore);
        self.on.dimension(self.at(length, -bore), self.at(length, bore), along * 9.5, words);
    }

    /// How far apart both ends lie: what the bend is held against. In brackets, for it follows from the rest (ISO 129).
    fn overall(&mut self) {
        let (from, to) = (self.at(0.0, 0.0), self.at(self.length(), 0.0));
        let (low, _) = self.on.bounds();
        let corner = DVec2::new(from.x, to.y);
        let below = DVec2::new(0.0, low.y - 4.5 - to.y);
        let words = |mm: f64| format!("({mm:.1})");
        self.on.dimension(corner, to, below, words((to.x - from.x).abs() / self.scale));
        let (low, _) = self.on.bounds();
        let beside = DVec2::new(low.x - 4.5 - from.x, 0.0);
        self.on.dimension(corner, from, beside, words((to.y - from.y).abs() / self.scale));
    }

    /// Stations of all parts on one line that runs along the tube from the cork end: every arrow is measured from its origin
    /// (superimposed running dimensions of ISO 129-1, from memory).
    fn stations(&mut self) {
        let job = &self.model.job;
        let neck = &self.model.assembly.neck;
        let socket = self.seat() - job.tenon.collar_length_mm + job.tenon.socket_depth_mm;
        let mut marks = vec![
            ("ring to", job.end_ring.length_mm),
            ("cork to", job.cork.to_station_mm),
            ("vent", job.vent.station_mm),
            ("brace from", job.brace.from_station_mm),
            ("brace to", job.brace.to_station_mm),
            ("saddle, hinge", job.saddle.station_mm),
            ("guide", job.guide.station_mm),
            ("collar", self.seat() - job.tenon.collar_length_mm),
            ("tube ends", socket),
            ("seat", self.seat()),
            ("end", self.length()),
        ];
        if let Some(badge) = &job.badge {
            marks.push(("badge", badge.station_mm));
        }
        marks.sort_by(|a, b| a.1.total_cmp(&b.1));
        let pen = Pen::solid(0.13);
        // Within a tight bend the line keeps nearer to the tube, or it would turn back on itself.
        let out = |station: f64| {
            let outside = neck.outside(station).max(
                job.tenon.collar_diameter_mm / 2.0
                    * f64::from(station > socket - job.tenon.socket_depth_mm),
            );
            let bend = neck.at(station).curvature;
            let room = if bend > 0.0 { (1.0 / bend - outside) * self.scale } else { f64::INFINITY };
            outside + RUNNING.min(0.5 * room.max(2.0)) / self.scale
        };
        let line: Vec<DVec2> = (0..=240)
            .map(|k| self.length() * f64::from(k) / 240.0)
            .map(|station| self.at(station, -out(station)))
            .collect();
        let feet: Vec<(String, DVec2, DVec2, DVec2)> = marks
            .iter()
            .map(|(name, station)| {
                let place = neck.at(*station);
                let surface = neck.outside(*station) + 0.8 / self.scale;
                let (from, on) = (self.at(*station, -surface), self.at(*station, -out(*station)));
                (format!("{name} {station:.1}"), from, on, flat(place.tangent))
            })
            .collect();
        for pair in line.windows(2) {
            if let [from, to] = pair {
                self.on.line(*from, *to, pen);
            }
        }
        if let Some(origin) = line.first() {
            self.on.circle(*origin, 1.1);
            self.on.line(*origin, self.at(0.0, -self.model.assembly.neck.outside(0.0)), pen);
        }
        for (_, from, on, tangent) in &feet {
            self.on.arrow(*on, *tangent);
            self.on.line(*from, *on, pen);
        }
        let near = |a: usize, b: usize| match (feet.get(a), feet.get(b)) {
            (Some(a), Some(b)) => a.2.distance(b.2) < NEIGHBOURS,
            _ => false,
        };
        for (index, (words, from, on, _)) in feet.iter().enumerate() {
            // Of two neighbours the words lean away from each other.
            let (before, after) = (index > 0 && near(index - 1, index), near(index, index + 1));
            let lean = f64::from(before) - f64::from(after);
            self.on.led_out(*on, (*on - *from).normalize_or_zero(), words, lean);
        }
    }

    /// What stands over the tube, and how high.
    fn heights(&mut self) {
        let job = &self.model.job;
        let neck = &self.model.assembly.neck;
        let (vent, hinge) = (job.vent.station_mm, job.saddle.station_mm);
        let top = neck.outside(vent) + job.vent.stand_mm;
        let axis = neck.outside(hinge) + job.posts.axis_height_mm;
        let pad = top + job.pad.thickness_mm + job.pad_cup.roof_mm;
        for (station, up, words) in [
            (
                vent,
                pad,
                format!("pad lift {:.2}; vent stands {:.2}", job.key.lift_mm, job.vent.stand_mm),
            ),
            (hinge, axis, format!("hinge axis {:.2} above the tube", job.posts.axis_height_mm)),
        ] {
            let way = flat(neck.at(station).up);
            let place = self.at(station, up);
            self.on.arrow(place, -way);
            self.on.led_out(place, way, &words, 0.0);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Truth: a cube's cut is the square of its faces, and its outline too.
    #[test]
    fn a_cube_is_cut_and_outlined_as_a_square() {
        let p = |i: u32| {
            DVec3::new(f64::from(i & 1), f64::from(i >> 1 & 1) - 0.5, f64::from(i >> 2 & 1))
        };
        let quads =
            [[0, 2, 3, 1], [4, 5, 7, 6], [0, 1, 5, 4], [2, 6, 7, 3], [0, 4, 6, 2], [1, 3, 7, 5]];
        let triangles: Vec<[DVec3; 3]> = quads
            .iter()
            .flat_map(|[a, b, c, d]| [[p(*a), p(*b), p(*c)], [p(*a), p(*c), p(*d)]])
            .collect();
        let length =
            |lines: &[(DVec2, DVec2)]| -> f64 { lines.iter().map(|(a, b)| a.distance(*b)).sum() };
        assert!((length(&cut(&triangles)) - 4.0).abs() < 1e-12);
        // Faces seen edge on count as turned away, so the square is seen once on the near side.
        assert!((length(&outline(&triangles)) - 4.0).abs() < 1e-12);
    }
}
