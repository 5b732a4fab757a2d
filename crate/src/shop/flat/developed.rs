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
