//! A curved, tapering thin tube as a beam: what it gives under a force at its free end, and what stress it has along it.
//!
//! Statics and virtual work, section by section: a section's flexibility, seen from the loaded point, is a symmetric matrix of
//! six by six, and those of a whole length add up. In a bend a thin tube flattens and so bends more easily: its own bending
//! stiffness is divided by the flexibility factor k of ASME B31.3, which is 1 where it is straight. The moment's change of
//! the tube's neutral line by curvature (Winkler) is left out: r / R stays under a quarter, and it goes with its square. A strip
//! inside of the bend counts with its own, shorter length.
//!
//! A strip soldered to the tube makes one section with it; a strip that stands off between two feet is a second path of the
//! force, whose share comes out of the two paths moving alike at both feet.

use glam::DVec3;

use crate::geometry::neck::Neck;

/// Poisson's ratio of copper alloys (0.33 to 0.34, read; sterling silver 0.37, from memory): it enters by shear and twist alone.
const POISSON: f64 = 0.34;

/// Shear of a thin round tube: greatest over mean.
const SHEAR_SHAPE: f64 = 2.0;

/// Longest piece that is integrated at once by five Gauss points, mm: curvature and radius hardly change over it.
const PIECE_MM: f64 = 4.0;

/// Stresses are looked at at least this often along the tube, mm.
const STEP_MM: f64 = 0.5;

/// Places round the tube at which stresses are looked at.
const ROUND: u32 = 48;

type Matrix = [[f64; 6]; 6];
type Vector = [f64; 6];

/// Flexibility and stress factors of a bent thin tube.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct BendFactors {
    /// Flexibility characteristic t R / r².
    pub h: f64,
    /// By how much more it bends than a straight tube.
    pub k: f64,
    /// Stress over that of a straight tube, bent in the plane of the bend.
    pub i_in: f64,
    /// The same, bent out of that plane.
    pub i_out: f64,
}

/// Factors by ASME B31.3, Appendix D: h = t R / r², k = 1.65 / h, i = 0.9 / h^(2/3) and 0.75 / h^(2/3), none under 1. `radius` is
/// that of the bend, `mean` that of the tube's mid wall; millimetres.
#[must_use]
pub fn bend_factors(wall: f64, radius: f64, mean: f64) -> BendFactors {
    let h = wall * radius / (mean * mean);
    let root = libm::cbrt(h * h);
    BendFactors {
        h,
        k: (1.65 / h).max(1.0),
        i_in: (0.9 / root).max(1.0),
        i_out: (0.75 / root).max(1.0),
    }
}

/// A strip that stiffens the tube from below. Millimetres.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Strip {
    pub from: f64,
    pub to: f64,
    pub width: f64,
    pub thickness: f64,
    /// From the tube's outside to the strip's inner face where it is soldered.
    pub gap: f64,
    /// Young's modulus, MPa.
    pub modulus: f64,
    /// Where it stands off between its feet.
    pub bridge: Option<Bridge>,
}

/// The part of a strip between its feet.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Bridge {
    pub foot: f64,
    /// From the tube's outside to the strip's inner face.
    pub height: f64,
}

/// A tube held at a station and loaded beyond its cork end.
#[derive(Clone, Copy, Debug)]
pub struct Beam<'a> {
    pub neck: &'a Neck,
    /// Station it is held at.
    pub held: f64,
    /// Distance of the load before the cork end, along the first straight produced.
    pub beyond: f64,
    /// Young's modulus, MPa.
    pub modulus: f64,
    pub strip: Option<Strip>,
    /// Whether bends flatten under load; without it every k is 1.
    pub flattens: bool,
}

/// What a load does.
#[derive(Clone, Debug, PartialEq)]
pub struct Answer {
    /// Movement of the loaded point, mm.
    pub moved: DVec3,
    /// Greatest stress of the tube at stations along it, MPa: tension or pressure together with twist (von Mises), with the
    /// factors of the bend.
    pub tube: Vec<(f64, f64)>,
    /// Greatest stress of the strip and its station.
    pub strip: Option<(f64, f64)>,
}

impl Answer {
    /// Greatest stress of the tube, with its station.
    #[must_use]
    pub fn greatest(&self) -> Option<(f64, f64)> {
        self.tube.iter().copied().max_by(|a, b| a.1.total_cmp(&b.1))
    }
}

/// One section with its stiffnesses. Millimetres, newtons.
struct Section {
    /// Where its tension acts without bending it.
    middle: DVec3,
    along: DVec3,
    up: DVec3,
    stretch: f64,
    twist: f64,
    /// About +Y and about `up`.
    bend: [f64; 2],
    shear: f64,
    /// Height of the tube's centre above `middle`.
    tube_above: f64,
    /// Length of the strip over that of the centreline: inside of a bend it is shorter, and so stiffer.
    strip_length: f64,
    outside: f64,
    factors: BendFactors,
}

const STRAIGHT: BendFactors = BendFactors { h: f64::INFINITY, k: 1.0, i_in: 1.0, i_out: 1.0 };

impl Beam<'_> {
    /// The point the load acts at.
    fn loaded(&self) -> DVec3 {
        let start = self.neck.at(0.0);
        start.centre - start.tangent * self.beyond
    }

    /// The tube's section, with the strip where that is soldered to it.
    fn section(&self, station: f64) -> Section {
        let at = self.neck.at(station);
        let (inside, outside) = (self.neck.bore.radius(station), self.neck.outside(station));
        let fourth = |r: f64| r * r * r * r;
        let area = std::f64::consts::PI * (outside * outside - inside * inside);
        let second = std::f64::consts::PI / 4.0 * (fourth(outside) - fourth(inside));
        let curve = at.curvature.abs();
        let factors = if curve > 1e-9 {
            bend_factors(self.neck.wall, 1.0 / curve, f64::midpoint(inside, outside))
        } else {
            STRAIGHT
        };
        let k = if self.flattens { factors.k } else { 1.0 };
        let mut section = Section {
            middle: at.centre,
            along: at.tangent,
            up: at.up,
            stretch: self.modulus * area,
            twist: self.modulus / (2.0 * (1.0 + POISSON)) * 2.0 * second,
            bend: [self.modulus * second / k; 2],
            shear: self.modulus / (2.0 * (1.0 + POISSON)) * area / SHEAR_SHAPE,
            tube_above: 0.0,
            strip_length: 1.0,
            outside,
            factors,
        };
        if let Some(strip) = self.strip.filter(|strip| strip.soldered_at(station)) {
            let drop = outside + strip.gap + strip.thickness / 2.0;
            section.strip_length = 1.0 - drop * at.curvature;
            let modulus = strip.modulus / section.strip_length;
            let other = modulus * strip.width * strip.thickness;
            let own = section.stretch;
            section.tube_above = drop * other / (own + other);
            section.middle = at.centre - at.up * section.tube_above;
            section.stretch = own + other;
            let cube = |a: f64| a * a * a;
            section.bend[0] += own * other / (own + other) * drop * drop
                + modulus * strip.width * cube(strip.thickness) / 12.0;
            section.bend[1] += modulus * strip.thickness * cube(strip.width) / 12.0;
        }
        section
    }

    /// The section of a strip that stands off.
    fn bridge_section(&self, strip: &Strip, height: f64, station: f64) -> Section {
        let at = self.neck.at(station);
        let drop = self.neck.outside(station) + height + strip.thickness / 2.0;
        let cube = |a: f64| a * a * a;
        let (w, t) = (strip.width, strip.thickness);
        let strip_length = 1.0 - drop * at.curvature;
        let modulus = strip.modulus / strip_length;
        let shear = modulus / (2.0 * (1.0 + POISSON));
        Section {
            middle: at.centre - at.up * drop,
            along: at.tangent,
            up: at.up,
            stretch: modulus * w * t,
            // Thin rectangle (Timoshenko, Strength of Materials, from memory).
            twist: shear * w * cube(t) / 3.0 * (1.0 - 0.63 * t / w.max(t)),
            bend: [modulus * w * cube(t) / 12.0, modulus * t * cube(w) / 12.0],
            shear: shear * w * t / 1.2,
            tube_above: 0.0,
            strip_length,
            outside: t / 2.0,
            factors: STRAIGHT,
        }
    }

    /// Stations where the law of the tube or of the strip changes.
    fn stops(&self) -> Vec<f64> {
        let mut stops = self.neck.smooth_stretches(0.0, self.held);
        if let Some(strip) = &self.strip {
            stops.extend([strip.from, strip.to]);
            stops.extend(strip.span().into_iter().flat_map(|(from, to)| [from, to]));
        }
        stops.retain(|stop| (0.0..=self.held).contains(stop));
        stops.sort_by(f64::total_cmp);
        stops.dedup_by(|a, b| (*a - *b).abs() < 1e-9);
        stops
    }

    /// Flexibility of a length, seen from the loaded point.
    fn flexibility(&self, from: f64, to: f64, section: &dyn Fn(f64) -> Section) -> Matrix {
        let mut sum = [[0.0; 6]; 6];
        let point = self.loaded();
        let mut stops = self.stops();
        stops.retain(|stop| *stop > from + 1e-9 && *stop < to - 1e-9);
        let ends: Vec<f64> = std::iter::once(from).chain(stops).chain([to]).collect();
        for pair in ends.windows(2) {
            let count = ((pair[1] - pair[0]) / PIECE_MM).ceil().max(1.0);
            for piece in 0..count as u32 {
                let step = (pair[1] - pair[0]) / count;
                let start = pair[0] + step * f64::from(piece);
                for (node, weight) in GAUSS {
                    let section = section(start + step * (0.5 + node / 2.0));
                    section.add_flexibility(&mut sum, point, weight * step / 2.0);
                }
            }
        }
        sum
    }

    /// What a force at the loaded point does.
    #[must_use]
    pub fn under(&self, force: DVec3) -> Answer {
        let load = [force.x, force.y, force.z, 0.0, 0.0, 0.0];
        let tube = |station: f64| self.section(station);
        let span = self.strip.and_then(|strip| {
            let (from, to) = strip.span()?;
            (from > 0.0 && to < self.held).then_some((strip, from, to))
        });
        let Some((strip, from, to)) = span else {
            let moved = times(&self.flexibility(0.0, self.held, &tube), &load);
            return self.answer(force, moved, None);
        };
        let height = strip.bridge.map_or(0.0, |bridge| bridge.height);
        let beside = |station: f64| self.bridge_section(&strip, height, station);
        let own = self.flexibility(from, to, &tube);
        let other = self.flexibility(from, to, &beside);
        let mut both = own;
        for (row, other) in both.iter_mut().zip(&other) {
            for (value, other) in row.iter_mut().zip(other) {
                *value += other;
            }
        }
        // The strip's share: both paths move alike between the feet.
        let share = solved(both, times(&own, &load));
        let left = [0, 1, 2, 3, 4, 5].map(|i| load[i] - share[i]);
        let parts = [
            times(&self.flexibility(0.0, from, &tube), &load),
            times(&own, &left),
            times(&self.flexibility(to, self.held, &tube), &load),
        ];
        let moved = [0, 1, 2, 3, 4, 5].map(|i| parts.iter().map(|part| part[i]).sum());
        self.answer(force, moved, Some((strip, height, share)))
    }

    fn answer(&self, force: DVec3, moved: Vector, bridged: Option<(Strip, f64, Vector)>) -> Answer {
        let point = self.loaded();
        let load = [force.x, force.y, force.z, 0.0, 0.0, 0.0];
        let mut stations = Vec::new();
        for pair in self.stops().windows(2) {
            let count = ((pair[1] - pair[0]) / STEP_MM).ceil().max(1.0);
            // Just inside of each stretch: its ends belong to two laws.
            let ends = (pair[0] + 1e-7, pair[1] - 1e-7);
            stations.extend(
                (0..=count as u32).map(|k| ends.0 + (ends.1 - ends.0) * f64::from(k) / count),
            );
        }
        let spanned = |station: f64| {
            let (strip, height, share) = bridged.as_ref()?;
            let (from, to) = strip.span()?;
            (from..to).contains(&station).then_some((strip, *height, share))
        };
        let tube = stations
            .iter()
            .map(|&station| {
                let wrench = match spanned(station) {
                    Some((_, _, share)) => [0, 1, 2, 3, 4, 5].map(|i| load[i] - share[i]),
                    None => load,
                };
                (station, self.tube_stress(&self.section(station), point, &wrench))
            })
            .collect();
        let strip = self.strip.and_then(|strip| {
            stations
                .iter()
                .filter_map(|&station| {
                    let stress = match spanned(station) {
                        Some((strip, height, share)) => {
                            let section = self.bridge_section(strip, height, station);
                            strip_stress(&section, strip, 0.0, section.acts(point, share))
                        }
                        None if strip.soldered_at(station) => {
                            let section = self.section(station);
                            let drop = section.outside + strip.gap + strip.thickness / 2.0;
                            let below = drop - section.tube_above;
                            strip_stress(&section, &strip, below, section.acts(point, &load))
                        }
                        None => return None,
                    };
                    Some((station, stress))
                })
                .max_by(|a, b| a.1.total_cmp(&b.1))
        });
        Answer { moved: DVec3::new(moved[0], moved[1], moved[2]), tube, strip }
    }

    /// Greatest stress round the tube's outside.
    fn tube_stress(&self, section: &Section, point: DVec3, wrench: &Vector) -> f64 {
        let Acting { pull, twist, about_y, about_up, .. } = section.acts(point, wrench);
        let k = if self.flattens { section.factors.k } else { 1.0 };
        let strain = pull / section.stretch;
        let (turn_y, turn_up) = (about_y / section.bend[0], about_up / section.bend[1]);
        let shear =
            twist / section.twist * section.outside * self.modulus / (2.0 * (1.0 + POISSON));
        let mut greatest: f64 = 0.0;
        for step in 0..ROUND {
            let (sin, cos) =
                libm::sincos(std::f64::consts::TAU * f64::from(step) / f64::from(ROUND));
            // The tube's own bending is that of a bend, which flattens; what the strip draws into it is plain tension.
            let own = -turn_y * section.outside * cos * section.factors.i_in / k
                + turn_up * section.outside * sin * section.factors.i_out / k;
            let drawn = -turn_y * section.tube_above;
            let stress = self.modulus * (strain + own + drawn);
            greatest = greatest.max((stress * stress + 3.0 * shear * shear).sqrt());
        }
        greatest
    }
}

/// Greatest stress of a strip whose middle lies `below` the section's: at its faces and edges.
fn strip_stress(section: &Section, strip: &Strip, below: f64, acting: Acting) -> f64 {
    let (turn_y, turn_up) = (acting.about_y / section.bend[0], acting.about_up / section.bend[1]);
    let mut greatest: f64 = 0.0;
    for face in [-0.5, 0.5] {
        for edge in [-0.5, 0.5] {
            let strain = acting.pull / section.stretch - turn_y * (face * strip.thickness - below)
                + turn_up * edge * strip.width;
            greatest = greatest.max((strip.modulus * strain / section.strip_length).abs());
        }
    }
    greatest
}

impl Strip {
    /// Stations between the feet, of a strip that stands off.
    fn span(&self) -> Option<(f64, f64)> {
        let bridge = self.bridge?;
        let (from, to) = (self.from + bridge.foot, self.to - bridge.foot);
        (to > from).then_some((from, to))
    }

    fn soldered_at(&self, station: f64) -> bool {
        let between = |(from, to): (f64, f64)| (from..=to).contains(&station);
        between((self.from, self.to)) && !self.span().is_some_and(between)
    }
}

/// What acts in a section: newtons and newton millimetres.
#[derive(Clone, Copy)]
struct Acting {
    pull: f64,
    twist: f64,
    about_y: f64,
    about_up: f64,
    across: [f64; 2],
}

impl Section {
    /// What the side of the free end does to the section, under force and moment at a point.
    fn acts(&self, point: DVec3, wrench: &Vector) -> Acting {
        let force = DVec3::new(wrench[0], wrench[1], wrench[2]);
        let moment =
            DVec3::new(wrench[3], wrench[4], wrench[5]) + (point - self.middle).cross(force);
        Acting {
            pull: -force.dot(self.along),
            twist: moment.dot(self.along),
            about_y: moment.y,
            about_up: moment.dot(self.up),
            across: [force.y, force.dot(self.up)],
        }
    }

    /// Adds the flexibility of a length of this section, seen from a point.
    fn add_flexibility(&self, sum: &mut Matrix, point: DVec3, length: f64) {
        let unit = [0, 1, 2, 3, 4, 5].map(|axis| {
            let mut wrench = [0.0; 6];
            wrench[axis] = 1.0;
            let Acting { pull, twist, about_y, about_up, across } = self.acts(point, &wrench);
            [pull, twist, about_y, about_up, across[0], across[1]]
        });
        let gives = [
            1.0 / self.stretch,
            1.0 / self.twist,
            1.0 / self.bend[0],
            1.0 / self.bend[1],
            1.0 / self.shear,
            1.0 / self.shear,
        ];
        for (row, a) in sum.iter_mut().zip(&unit) {
            for (value, b) in row.iter_mut().zip(&unit) {
                for ((a, b), give) in a.iter().zip(b).zip(&gives) {
                    *value += a * b * give * length;
                }
            }
        }
    }
}

/// Nodes and weights on -1 to 1.
const GAUSS: [(f64, f64); 5] = [
    (0.0, 0.568_888_888_888_888_9),
    (-0.538_469_310_105_683_1, 0.478_628_670_499_366_47),
    (0.538_469_310_105_683_1, 0.478_628_670_499_366_47),
    (-0.906_179_845_938_664, 0.236_926_885_056_189_08),
    (0.906_179_845_938_664, 0.236_926_885_056_189_08),
];

fn times(matrix: &Matrix, vector: &Vector) -> Vector {
    [0, 1, 2, 3, 4, 5].map(|i| matrix[i].iter().zip(vector).map(|(a, b)| a * b).sum())
}

/// Gaussian elimination with row pivoting. The matrix is a sum of flexibilities, which is positive definite.
fn solved(mut matrix: Matrix, mut right: Vector) -> Vector {
    for column in 0..6 {
        let pivot = (column..6)
            .max_by(|&a, &b| matrix[a][column].abs().total_cmp(&matrix[b][column].abs()))
            .unwrap_or(column);
        matrix.swap(column, pivot);
        right.swap(column, pivot);
        for row in column + 1..6 {
            let factor = matrix[row][column] / matrix[column][column];
            let base = matrix[column];
            for (value, base) in matrix[row].iter_mut().zip(base).skip(column) {
                *value -= factor * base;
            }
            right[row] -= factor * right[column];
        }
    }
    let mut solution = [0.0; 6];
    for row in (0..6).rev() {
        let known: f64 = (row + 1..6).map(|k| matrix[row][k] * solution[k]).sum();
        solution[row] = (right[row] - known) / matrix[row][row];
    }
    solution
}

#[cfg(test)]
mod tests {
    use std::f64::consts::{FRAC_PI_2, PI};

    use super::*;
    use crate::geometry::bore::Bore;
    use crate::geometry::centreline::{Centreline, Course};

    fn tube(courses: &[Course], radius: f64, wall: f64) -> Neck {
        Neck {
            centreline: Centreline::new(courses),
            bore: Bore::Cone { entry_radius: radius, slope: 0.0 },
            wall,
        }
    }

    fn beam(neck: &Neck, beyond: f64) -> Beam<'_> {
        let held = neck.centreline.length();
        Beam { neck, held, beyond, modulus: 110_000.0, strip: None, flattens: true }
    }

    fn second(neck: &Neck) -> f64 {
        let (a, b) = (neck.bore.radius(0.0), neck.outside(0.0));
        PI / 4.0 * (b * b * b * b - a * a * a * a)
    }

    /// Truth: the worked sheet of B31.3-2006, Table D300, DN 700: T 9.4, R 1066.8, r 350.9 mm gives h 0.0814, k 20.26, i 4.79
    /// and 3.99 (read).
    #[test]
    fn factors_of_a_bend_are_those_of_the_worked_sheet() {
        let found = bend_factors(9.4, 1066.8, 350.9);
        assert!((found.h - 0.0814).abs() < 5e-5);
        assert!((found.k - 20.26).abs() < 0.005, "{}", found.k);
        assert!((found.i_in - 4.79).abs() < 0.005, "{}", found.i_in);
        assert!((found.i_out - 3.99).abs() < 0.005, "{}", found.i_out);
        assert_eq!(bend_factors(0.8, 1e6, 8.0).k, 1.0);
    }

    /// Truth: von Kármán's own k = (12 h² + 10) / (12 h² + 1) (1911) lies within 2.5 % of 1.65 / h at the h of a neck.
    #[test]
    fn factors_of_a_neck_agree_with_von_karman() {
        for (wall, radius, mean) in [(0.8, 45.0, 8.0), (0.7, 60.0, 9.0), (0.8, 45.0, 6.2)] {
            let found = bend_factors(wall, radius, mean);
            let h = found.h * found.h;
            assert!((found.k * (12.0 * h + 1.0) / (12.0 * h + 10.0) - 1.0).abs() < 0.025);
        }
    }

    /// Truth: straight cantilever, P L³ / 3 E I + 2 P L / G A, and stress P L r / I; twist none.
    #[test]
    fn a_straight_cantilever_bends_as_in_the_books() {
        let neck = tube(&[Course::Straight { length: 150.0 }], 8.0, 0.7);
        let (force, length) = (30.0, 170.0);
        let inertia = second(&neck);
        // The last 20 mm before the cork end are the stiff mouthpiece: its arm counts, its bending does not.
        let beam = beam(&neck, 20.0);
        let bent = (length * length * length - 20.0 * 20.0 * 20.0) / 3.0;
        let area = PI * (8.7 * 8.7 - 8.0 * 8.0);
        let shear = 2.0 * 150.0 / (110_000.0 / 2.68 * area);
        let expected = force * (bent / (110_000.0 * inertia) + shear);
        for way in [DVec3::NEG_Z, DVec3::Y] {
            let found = beam.under(way * force);
            let moved = found.moved.dot(way);
            assert!((moved / expected - 1.0).abs() < 1e-9, "{moved} {expected}");
            let (station, stress) = found.greatest().unwrap();
            assert!(station > 149.9);
            assert!((stress / (force * length * 8.7 / inertia) - 1.0).abs() < 1e-6);
        }
        // A pull along the tube: P L / E A.
        let pulled = beam.under(DVec3::NEG_X * force).moved.x;
        assert!((pulled / (-force * 150.0 / (110_000.0 * area)) - 1.0).abs() < 1e-9);
    }

    /// Truth: quarter circle, Castigliano: a force square to the free end moves it by k π P R³ / 4 E I by bending, and by
    /// k P R³ / 2 E I square to that; tension adds π P R / 4 E A, shear 2 π P R / 4 G A, and to the other way their difference.
    #[test]
    fn a_quarter_circle_bends_as_castigliano_says() {
        let radius = 50.0;
        let neck = tube(&[Course::Bend { bend: FRAC_PI_2, radius }], 8.0, 0.7);
        let beam = beam(&neck, 0.0);
        let (force, inertia) = (10.0, second(&neck));
        let area = PI * (8.7 * 8.7 - 8.0 * 8.0);
        let k = bend_factors(0.7, radius, 8.35).k;
        assert!(k > 3.0);
        let bent = k * force * radius * radius * radius / (110_000.0 * inertia);
        let stretched = force * radius / (110_000.0 * area);
        let sheared = force * radius * 2.0 * 2.68 / (110_000.0 * area);
        let moved = beam.under(DVec3::NEG_Z * force).moved;
        let down = PI / 4.0 * (bent + stretched + sheared);
        assert!((-moved.z / down - 1.0).abs() < 1e-9, "{moved} {down}");
        let along = (bent + sheared - stretched) / 2.0;
        assert!((moved.x.abs() / along - 1.0).abs() < 1e-9, "{moved} {along}");
        let stiff = Beam { flattens: false, ..beam };
        let ratio = moved.z / stiff.under(DVec3::NEG_Z * force).moved.z;
        assert!(ratio > 0.9 * k && ratio < k, "{ratio} {k}");
    }

    /// Truth: quarter circle loaded out of its plane (Timoshenko): π P R³ k / 4 E I + (3 π / 4 - 2) P R³ / G J, and shear.
    #[test]
    fn a_quarter_circle_out_of_its_plane_bends_and_twists() {
        let radius = 50.0;
        let neck = tube(&[Course::Bend { bend: FRAC_PI_2, radius }], 8.0, 0.7);
        let (force, inertia) = (10.0, second(&neck));
        let modulus = 110_000.0;
        let shear = modulus / 2.68;
        let area = PI * (8.7 * 8.7 - 8.0 * 8.0);
        let k = bend_factors(0.7, radius, 8.35).k;
        let cube = radius * radius * radius;
        let expected = force
            * (k * PI / 4.0 * cube / (modulus * inertia)
                + (0.75 * PI - 2.0) * cube / (shear * 2.0 * inertia)
                + FRAC_PI_2 * radius * 2.0 / (shear * area));
        let moved = beam(&neck, 0.0).under(DVec3::Y * force).moved.y;
        assert!((moved / expected - 1.0).abs() < 1e-9, "{moved} {expected}");
    }

    /// Truth: two-material section by the parallel axis theorem, worked here by moduli-weighted areas.
    #[test]
    fn a_strip_in_contact_makes_one_section() {
        let neck = tube(&[Course::Straight { length: 100.0 }], 8.0, 0.7);
        let strip = Strip {
            from: -1.0,
            to: 101.0,
            width: 6.0,
            thickness: 1.0,
            gap: 0.08,
            modulus: 55_000.0,
            bridge: None,
        };
        let plain = beam(&neck, 0.0);
        let found = Beam { strip: Some(strip), ..plain }.under(DVec3::NEG_Z * 10.0);
        let (tube_area, strip_area) = (PI * (8.7 * 8.7 - 8.0 * 8.0), 6.0 * 0.5);
        let drop = 8.7 + 0.08 + 0.5;
        let middle = strip_area * drop / (tube_area + strip_area);
        let inertia = second(&neck)
            + tube_area * middle * middle
            + 6.0 * 0.5 / 12.0
            + strip_area * (drop - middle) * (drop - middle);
        let bent = 10.0 * 1e6 / (3.0 * 110_000.0 * inertia);
        let shear = 10.0 * 2.0 * 100.0 / (110_000.0 / 2.68 * tube_area);
        assert!((-found.moved.z / (bent + shear) - 1.0).abs() < 1e-9);
        let top = 1000.0 * (8.7 + middle) / inertia;
        assert!((found.greatest().unwrap().1 / top - 1.0).abs() < 1e-6);
        let below = 1000.0 * (drop + 0.5 - middle) / inertia / 2.0;
        assert!((found.strip.unwrap().1 / below - 1.0).abs() < 1e-6);
    }

    /// Truth: a strip that stands off takes only what its own bending and its tension leave to it: the neck gives less than
    /// bare, and more than with the strip soldered on along its whole length. A strip of no stiffness changes nothing.
    #[test]
    fn a_bridge_helps_less_than_a_brace_in_contact() {
        let courses = [
            Course::Straight { length: 40.0 },
            Course::Bend { bend: 1.6, radius: 50.0 },
            Course::Straight { length: 20.0 },
        ];
        let neck = tube(&courses, 8.0, 0.7);
        let contact = Strip {
            from: 50.0,
            to: 110.0,
            width: 6.0,
            thickness: 1.0,
            gap: 0.08,
            modulus: 110_000.0,
            bridge: None,
        };
        let bridge = Strip { bridge: Some(Bridge { foot: 12.0, height: 2.5 }), ..contact };
        let none = Strip { modulus: 1e-6, ..bridge };
        let gives = |strip| {
            let found = Beam { strip, ..beam(&neck, 40.0) }.under(DVec3::NEG_Z * 10.0);
            -found.moved.z
        };
        let bare = gives(None);
        assert!(gives(Some(bridge)) < bare && gives(Some(contact)) < gives(Some(bridge)));
        assert!((gives(Some(none)) / bare - 1.0).abs() < 1e-6);
    }
}
