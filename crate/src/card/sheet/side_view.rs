//! The neck from the side: cut through in the plane of the bend, what stands beside it as an outline.

use std::collections::BTreeMap;

use glam::{DVec2, DVec3};

use crate::exports::paper::{Anchor, Dash, Pen, Sheet};
use crate::model::Model;
use crate::solids::SolidError;
use crate::solids::mesh::SolidMesh;

/// Chord of the triangles that are cut, mm.
const CHORD: f64 = 0.05;
/// The cut lies a hair beside the plane of the bend, so that it meets no corner of a triangle.
const BESIDE: f64 = 0.007_3;
/// Corners nearer than this are one, mm.
const SAME: f64 = 1e-5;
/// Scales a drawing may have.
const SCALES: [(f64, &str); 4] = [(1.0, "1:1"), (0.8, "4:5"), (2.0 / 3.0, "2:3"), (0.5, "1:2")];
/// Room round the neck for what is said of it, mm on paper.
const ROUND: f64 = 6.0;

/// Parts that lie beside the plane of the bend.
const OUTLINED: [&str; 6] =
    ["post_left", "hinge_tube", "hinge_screw", "rod_loop", "guide", "badge"];

/// A drawing in millimetres of paper, its lower left corner at the origin.
#[derive(Debug)]
pub struct SideView {
    lines: Vec<(DVec2, DVec2, Pen)>,
    words: Vec<(DVec2, f64, String, Anchor)>,
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
    pub fn of(model: &Model, room: DVec2) -> Result<Self, SolidError> {
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
        let none = (DVec2::INFINITY, DVec2::NEG_INFINITY);
        let (low, high) = drawn
            .iter()
            .flat_map(|(a, b, _)| [*a, *b])
            .fold(none, |sum, point| (sum.0.min(point), sum.1.max(point)));
        let fits = |scale: f64| {
            let size = (high - low) * scale + 2.0 * ROUND;
            size.cmple(room).all()
        };
        let (scale, name) =
            SCALES.into_iter().find(|(scale, _)| fits(*scale)).unwrap_or((0.5, "1:2"));
        let onto = |point: DVec2| (point - low) * scale + ROUND;
        let mut view = Self {
            lines: drawn.into_iter().map(|(a, b, pen)| (onto(a), onto(b), pen)).collect(),
            words: Vec::new(),
            size: (high - low) * scale + 2.0 * ROUND,
            scale: name,
        };
        view.stations(model, &onto);
        view.places(model, &onto);
        Ok(view)
    }

    /// The centreline with a tick every ten millimetres and its station every twenty.
    fn stations(&mut self, model: &Model, onto: &dyn Fn(DVec2) -> DVec2) {
        let neck = &model.assembly.neck;
        let length = neck.centreline.length();
        let chain = Pen::solid(0.13).dashed(Dash::Chain);
        let thin = Pen::solid(0.13);
        let mut station = 0.0;
        while station <= length {
            let at = neck.at(station);
            let up = flat(at.up);
            let half = if (station / 20.0).fract() == 0.0 { 1.6 } else { 0.9 };
            let middle = onto(flat(at.centre));
            self.lines.push((middle - up * half, middle + up * half, thin));
            if half > 1.0 {
                let place = middle + up * 2.4 - DVec2::new(0.0, 0.8);
                self.words.push((place, 2.3, format!("{station:.0}"), Anchor::Middle));
            }
            let next = (station + 10.0).min(length);
            let steps = 8;
            let mut before = middle;
            for k in 1..=steps {
                let along = station + (next - station) * f64::from(k) / f64::from(steps);
                let point = onto(flat(neck.at(along).centre));
                self.lines.push((before, point, chain));
                before = point;
            }
            station += 10.0;
        }
    }

    /// Where the parts stand: a line out from the tube with the station.
    fn places(&mut self, model: &Model, onto: &dyn Fn(DVec2) -> DVec2) {
        let job = &model.job;
        let neck = &model.assembly.neck;
        let collar = neck.centreline.length() - job.tenon.length_mm - job.tenon.collar_length_mm;
        let pen = Pen { grey: 0.3, ..Pen::solid(0.13) };
        let mut marks = vec![
            ("brace from", job.brace.from_station_mm),
            ("brace to", job.brace.to_station_mm),
            ("vent", job.vent.station_mm),
            ("hinge", job.saddle.station_mm),
            ("guide", job.guide.station_mm),
            ("collar", collar),
            ("cork to", job.cork.to_station_mm),
        ];
        if let Some(badge) = &job.badge {
            marks.push(("badge", badge.station_mm));
        }
        marks.sort_by(|a, b| a.1.total_cmp(&b.1));
        let mut before: Option<(f64, f64)> = None;
        for (name, station) in marks {
            // Neighbours are led out by turns near and far, so that their words do not lie on each other.
            let reach = match before {
                Some((last, reach)) if station - last < 14.0 && reach < 10.0 => 13.0,
                _ => 7.0,
            };
            before = Some((station, reach));
            let at = neck.at(station);
            // Words run level: beside an upright wall they need their whole length.
            let reach = if reach > 10.0 { reach + 16.0 * flat(at.up).x.abs() } else { reach };
            // All are said under the bend, where nothing of the key stands.
            let down = -flat(at.up);
            let from = onto(flat(at.centre - at.up * (neck.outside(station) + 0.3)));
            let to = from + down * reach;
            self.lines.push((from, to, pen));
            let anchor = if down.x < -0.35 {
                Anchor::End
            } else if down.x > 0.35 {
                Anchor::Start
            } else {
                Anchor::Middle
            };
            let place = to + down * 1.2 - DVec2::new(0.0, if down.y < -0.5 { 2.0 } else { 0.8 });
            self.words.push((place, 2.5, format!("{name} {station:.1}"), anchor));
        }
    }

    /// Puts the drawing on a sheet.
    pub fn put(&self, sheet: &mut Sheet, corner: DVec2) {
        for (from, to, pen) in &self.lines {
            sheet.line(*from + corner, *to + corner, *pen);
        }
        for (at, size, words, anchor) in &self.words {
            sheet.text(*at + corner, *size, words.clone(), *anchor);
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
