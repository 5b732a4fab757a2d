//! The arm of the octave key: cut from plate, lying in the plane of the bend.
//!
//! Its lower edge is four straight runs, joined by smooth ones: over the pad cup, under the hinge, the spring's seat,
//! and where the rod is laid along it. Its upper edge follows at the arm's height, and goes over the hinge tube in a
//! boss. Between the hinge and the rod the lower edge keeps clear of the tube with the key open, not only closed.

use glam::DVec2;

use crate::geometry::outline::{Node, Outline, Side, nearest_on_line};
use crate::geometry::shape::{EdgeHole, HoleEnd, Plate, PlateHole, Shape};
use crate::job::{Job, Violation};

use super::part::Part;
use super::places::{BEND_PLANE, Places, in_plane};
use super::rod_loop::Bend;
use super::smooth::{Stand, angle, chain, crossing, polyline, reversed, sampled};
use super::spring::backed_off;
use super::swing::Swing;

/// Least metal left between a hole and an edge of the arm, mm (common practice, no source).
pub const LEAST_LAND: f64 = 0.4;
/// How far the run over the cup goes past the cup's rim before the edge turns down, mm (common practice, no source).
const PAST_RIM: f64 = 0.5;
/// Where that run begins on the mouthpiece's side of the cup's middle, as a share of the cup's diameter (common
/// practice, no source).
const BEFORE_MIDDLE: f64 = 0.35;
/// How far the run under the hinge goes past both ends of the saddle, mm (common practice, no source).
const PAST_SADDLE: f64 = 1.0;
/// Room beyond the least clearance that the spring's screw is given over the tube, key open, mm (common practice, no
/// source).
const SCREW_ROOM: f64 = 0.3;
/// Room beyond the least clearance that the arm is given over the tube, mm (common practice, no source).
const ARM_ROOM: f64 = 0.1;
/// Shortest way forward in which two straight runs are joined, mm (common practice, no source).
const SHORTEST_JOIN: f64 = 0.8;
/// Steepest angle between a straight run and the way to the next one, radians (common practice, no source).
const STEEPEST: f64 = 1.45;
/// Places on a smooth edge are at least so far apart, mm: nearer ones would make it wavy.
const NEAR: f64 = 2.0;
/// Points looked at along each cubic.
const LOOKS: u32 = 24;

/// The straight run under which the spring lies.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SpringSeat {
    /// Middle of the run, with its direction towards the loop.
    pub middle: Stand,
    /// Both ends, the one nearer the hinge first.
    pub ends: [DVec2; 2],
}

/// The arm with what other parts take from it.
#[derive(Clone, Debug, PartialEq)]
pub struct Arm {
    pub plate: Plate,
    pub spring_seat: SpringSeat,
}

/// The straight runs of one edge, each from the cup's side to the loop's.
struct Runs {
    cup: [Stand; 2],
    hinge: [Stand; 2],
    spring: [Stand; 2],
    lap: [Stand; 2],
}

/// A straight run about a middle: from `back` behind it to `ahead` before it.
fn run(middle: Stand, back: f64, ahead: f64) -> [Stand; 2] {
    [-back, ahead].map(|way| Stand::new(middle.point + middle.along * way, middle.along))
}

impl Arm {
    /// Lays out the arm.
    ///
    /// # Errors
    ///
    /// Violations where the runs cannot be joined by an arm that could be cut.
    pub fn new(
        job: &Job,
        places: &Places,
        swing: &Swing,
        bend: &Bend,
    ) -> Result<Self, Vec<Violation>> {
        let lower = lower_runs(job, places, swing, bend);
        let mut wrong = joins_forward(job, &lower);
        let upper = upper_runs(job, places, &lower);
        if wrong.is_empty() {
            wrong.extend(boss_forward(job, &upper));
        }
        if !wrong.is_empty() {
            return Err(wrong);
        }
        let hole = PlateHole {
            centre: swing.hinge,
            radius: job.hinge.tube_outer_diameter_mm / 2.0 + places.gap,
        };
        let floor = Floor { job, places, swing };
        // Where no arm can keep clear of the tube, one is drawn all the same: the clearance list shows where it strikes.
        let joins = [Floor::clear_way, Floor::plain_way].map(|way| {
            Joins::laid(job.key.arm_height_mm, &lower, &upper, |from, to| way(&floor, from, to))
        });
        let mut outlined = Err(Vec::new());
        for joins in joins {
            outlined = joins.thick_enough(job).and_then(|()| {
                let (outline, spring_side) = joins.closed(&lower, &upper, job.key.arm_height_mm);
                sound(job, &outline, &hole).map(|()| (outline, spring_side))
            });
            if outlined.is_ok() {
                break;
            }
        }
        let (outline, spring_side) = outlined?;
        let middle = Stand::new(
            (lower.spring[0].point + lower.spring[1].point) / 2.0,
            lower.spring[0].along,
        );
        let screw_hole = EdgeHole {
            side: spring_side,
            entry: middle.point,
            radius: job.spring_screw.thread.tap_drill_mm() / 2.0,
            end: HoleEnd::Blind(job.spring_screw.depth_mm),
        };
        Ok(Self {
            plate: Plate {
                frame: BEND_PLANE,
                outline,
                half_thickness: job.key.arm_thickness_mm / 2.0,
                holes: vec![hole],
                edge_holes: vec![screw_hole],
            },
            spring_seat: SpringSeat { middle, ends: lower.spring.map(|stand| stand.point) },
        })
    }

    /// Greatest height above the centreline of the arm's upper edge over the stations from `from` to `to`, measured
    /// in the section; none where the arm does not pass over all of them.
    pub fn top_over(&self, places: &Places, from: f64, to: f64) -> Option<f64> {
        let points = polyline(&self.plate.outline);
        (0..=8)
            .map(|i| {
                let at = places.neck.at(from + (to - from) * f64::from(i) / 8.0);
                let (foot, up) = (in_plane(at.centre), in_plane(at.up));
                points
                    .iter()
                    .zip(points.iter().cycle().skip(1))
                    .filter_map(|(&a, &b)| ray_meets(foot, up, a, b))
                    .fold(None, |top: Option<f64>, height| {
                        Some(top.map_or(height, |top| top.max(height)))
                    })
            })
            .try_fold(f64::NEG_INFINITY, |top, height| height.map(|height| top.max(height)))
    }
}

/// Distance along a ray at which it meets a segment.
fn ray_meets(foot: DVec2, along: DVec2, a: DVec2, b: DVec2) -> Option<f64> {
    let side = |point: DVec2| along.perp_dot(point - foot);
    let (from, to) = (side(a), side(b));
    if from * to > 0.0 || from == to {
        return None;
    }
    let height = (a + (b - a) * (from / (from - to)) - foot).dot(along);
    (height > 0.0).then_some(height)
}

fn lower_runs(job: &Job, places: &Places, swing: &Swing, bend: &Bend) -> Runs {
    let gap = places.gap;
    let cup_diameter = job.pad.diameter_mm + 2.0 * (gap + job.pad_cup.wall_mm);
    let roof = job.pad.thickness_mm + gap + job.pad_cup.roof_mm;
    let seat = &places.vent_seat;
    let over_cup =
        Stand::new(in_plane(seat.point(glam::DVec3::Z * (roof + gap))), in_plane(seat.x));

    let station = job.saddle.station_mm;
    let under = gap + job.saddle.thickness_mm + job.key.gap_at_hinge_mm;
    let under_hinge =
        Stand::new(in_plane(places.neck.above(station, under)), in_plane(places.hinge.x));
    let half_saddle = job.saddle.length_mm / 2.0 + PAST_SADDLE;

    let half_seat = job.spring.seat_length_mm / 2.0;
    let [lap_from, lap_to] = bend.lap_line();
    let below = -job.key.arm_height_mm / 2.0;
    Runs {
        cup: run(over_cup, BEFORE_MIDDLE * cup_diameter, cup_diameter / 2.0 + PAST_RIM),
        hinge: run(under_hinge, half_saddle, half_saddle),
        spring: run(spring_seat(job, places, swing), half_seat, half_seat),
        lap: [lap_from.beside(below), lap_to.beside(below)],
    }
}

/// Middle of the spring's seat: so high that, key open, the head of its screw still clears the tube.
fn spring_seat(job: &Job, places: &Places, swing: &Swing) -> Stand {
    let at = places.neck.at(job.saddle.station_mm + job.spring.seat_from_hinge_mm);
    let under =
        places.gap + job.spring.thickness_mm + backed_off(job) + job.spring_screw.head_length_mm;
    let place =
        |height: f64| in_plane(at.centre + at.up * (places.neck.outside(at.station) + height));
    let wanted = job.limits.least_clearance_mm + SCREW_ROOM;
    // The head goes down nearly as far as it is raised, so each step leaves a small share of the miss.
    let mut head = wanted;
    for _ in 0..12 {
        head += wanted - places.height(swing.opened(place(head))).0;
    }
    Stand::new(place(head + under), in_plane(at.tangent))
}

fn upper_runs(job: &Job, places: &Places, lower: &Runs) -> Runs {
    let height = job.key.arm_height_mm;
    let raised = |run: &[Stand; 2]| run.map(|stand| stand.beside(height));
    let around = job.hinge.tube_outer_diameter_mm / 2.0 + places.gap + job.key.boss_land_mm;
    let plain = places.gap + job.saddle.thickness_mm + job.key.gap_at_hinge_mm + height;
    let boss = plain.max(job.posts.axis_height_mm + around);
    let over_hinge = Stand::new(
        in_plane(places.neck.above(job.saddle.station_mm, boss)),
        in_plane(places.hinge.x),
    );
    Runs {
        cup: raised(&lower.cup),
        hinge: run(over_hinge, around, around),
        spring: raised(&lower.spring),
        lap: raised(&lower.lap),
    }
}

/// How much further on the second run would have to begin for a join to be possible; nothing if it is.
fn lack(from: Stand, to: Stand) -> Option<f64> {
    let way = to.point - from.point;
    let forward = way.dot(from.along).min(way.dot(to.along));
    let steep = angle(from.along, way).abs().max(angle(way, to.along).abs());
    if forward < SHORTEST_JOIN {
        Some(SHORTEST_JOIN - forward)
    } else if steep > STEEPEST {
        // Far enough that the way there is less steep.
        Some(way.length() * libm::cos(STEEPEST) - forward).map(|more| more.max(0.1))
    } else {
        None
    }
}

fn tenths_up(value: f64) -> f64 {
    (value * 10.0).ceil() / 10.0
}

fn tenths_down(value: f64) -> f64 {
    (value * 10.0).floor() / 10.0
}

/// Violations for runs of the lower edge that lie too near each other.
fn joins_forward(job: &Job, runs: &Runs) -> Vec<Violation> {
    let mut wrong = Vec::new();
    if let Some(lack) = lack(runs.cup[1], runs.hinge[0]) {
        let station = job.saddle.station_mm;
        wrong.push(Violation::error(
            "saddle.station_mm",
            station,
            format!("at least about {:.1} mm", tenths_up(station + lack)),
            "The hinge is too near the vent: the arm has no room to come down from the pad cup to the saddle.",
        ));
    }
    if let Some(lack) = lack(runs.hinge[1], runs.spring[0]) {
        let seat = job.spring.seat_from_hinge_mm;
        wrong.push(Violation::error(
            "spring.seat_from_hinge_mm",
            seat,
            format!("at least about {:.1} mm", tenths_up(seat + lack)),
            "The spring's seat would lie over the saddle: it needs a straight run of the arm beyond the saddle's end.",
        ));
    }
    if let Some(lack) = lack(runs.spring[1], runs.lap[0]) {
        let lap = job.rod_loop.lap_mm;
        wrong.push(Violation::error(
            "rod_loop.lap_mm",
            lap,
            format!("at most about {:.1} mm", tenths_down(lap - lack).max(0.0)),
            "The rod laid along the arm would begin before the spring's seat ends: there is no arm left between them.",
        ));
    }
    wrong
}

/// Violations for a boss over the hinge that runs into its neighbours.
fn boss_forward(job: &Job, runs: &Runs) -> Vec<Violation> {
    let lacks = [lack(runs.cup[1], runs.hinge[0]), lack(runs.hinge[1], runs.spring[0])];
    let Some(most) = lacks.into_iter().flatten().reduce(f64::max) else { return Vec::new() };
    vec![Violation::error(
        "key.boss_land_mm",
        job.key.boss_land_mm,
        format!("at most about {:.1} mm", tenths_down(job.key.boss_land_mm - most).max(0.0)),
        "The boss round the hinge tube runs into the pad cup's end of the arm or over the spring's seat.",
    )]
}

/// What the arm's lower edge must keep above.
struct Floor<'a> {
    job: &'a Job,
    places: &'a Places,
    swing: &'a Swing,
}

impl Floor<'_> {
    /// How far a point of the lower edge is above what it must clear, the worse of closed and open, and the outward
    /// direction there.
    fn excess(&self, point: DVec2) -> (f64, DVec2) {
        let pose = |angle: f64| {
            let (height, station) = self.places.height(self.swing.turned(point, angle));
            let up = in_plane(self.places.neck.at(station).up);
            let back = crate::geometry::frame::unit(angle).rotate(up);
            (height - self.needed(station), back)
        };
        let (closed, open) = (pose(0.0), pose(self.swing.open_angle));
        if closed.0 < open.0 { closed } else { open }
    }

    /// Height over the outside of the tube that is kept clear at a station: over the guide, its floor as well.
    fn needed(&self, station: f64) -> f64 {
        let guide = &self.job.guide;
        let over_guide = (station - guide.station_mm).abs() <= guide.length_mm / 2.0 + ARM_ROOM;
        let floor = if over_guide { self.places.gap + guide.strip_thickness_mm } else { 0.0 };
        self.job.limits.least_clearance_mm + ARM_ROOM + floor
    }

    /// Places from one run to the next whose chain clears the floor.
    ///
    /// It starts as one cubic; where that dips under the floor a place is put above the worst point, as a string laid
    /// over the tube would touch it. Six times is more than any neck needs; what still dips then stands in the
    /// clearance list.
    fn clear_way(&self, from: Stand, to: Stand) -> Vec<Stand> {
        let mut stands = vec![from, to];
        for _ in 0..6 {
            let Some((index, dip)) = self.deepest_dip(&chain(&stands)) else { break };
            let last = stands.len() - 1;
            let near = |place: &usize| {
                stands.get(*place).is_some_and(|s| s.point.distance(dip.point) < NEAR)
            };
            match [index, index + 1].into_iter().find(near) {
                // Beside a straight run the edge is where the run puts it.
                Some(place) if place == 0 || place == last => break,
                Some(place) => {
                    if let Some(stand) = stands.get_mut(place) {
                        let raise = dip.point - stand.point;
                        stand.point += raise.project_onto(dip.along.perp());
                    }
                }
                None => stands.insert(index + 1, dip),
            }
        }
        stands
    }

    /// The two ends alone.
    fn plain_way(&self, from: Stand, to: Stand) -> Vec<Stand> {
        vec![from, to]
    }

    /// The place that would raise a chain's deepest dip under the floor clear of it, and the index of the cubic it is on.
    fn deepest_dip(&self, nodes: &[Node]) -> Option<(usize, Stand)> {
        let mut deepest = 0.0;
        let mut found = None;
        for (index, pair) in nodes.windows(2).enumerate() {
            for three in sampled(pair, LOOKS).windows(3) {
                let (excess, out) = self.excess(three[1]);
                if excess < deepest {
                    deepest = excess;
                    let along = (three[2] - three[0]).normalize_or_zero();
                    found = Some((index, Stand::new(three[1] + out * (ARM_ROOM - excess), along)));
                }
            }
        }
        found
    }
}

/// The smooth edges between the runs: from cup to hinge, from hinge to spring, from spring to rod.
struct Joins {
    lower: [Vec<Node>; 3],
    upper: [Vec<Node>; 3],
}

impl Joins {
    /// Joins whose lower edge takes the given way; the upper edge goes where the lower one does.
    fn laid(
        height: f64,
        lower: &Runs,
        upper: &Runs,
        way: impl Fn(Stand, Stand) -> Vec<Stand>,
    ) -> Self {
        let first = way(lower.cup[1], lower.hinge[0]);
        let last = way(lower.spring[1], lower.lap[0]);
        let inner = last.get(1..last.len().saturating_sub(1)).unwrap_or_default();
        let last_upper: Vec<Stand> = [upper.spring[1]]
            .into_iter()
            .chain(inner.iter().map(|stand| stand.beside(height)))
            .chain([upper.lap[0]])
            .collect();
        Self {
            lower: [chain(&first), chain(&[lower.hinge[1], lower.spring[0]]), chain(&last)],
            upper: [
                chain(&[upper.cup[1], upper.hinge[0]]),
                chain(&[upper.hinge[1], upper.spring[0]]),
                chain(&last_upper),
            ],
        }
    }

    /// Holds both edges apart.
    fn thick_enough(&self, job: &Job) -> Result<(), Vec<Violation>> {
        let height = job.key.arm_height_mm;
        let top: Vec<DVec2> = self.upper.iter().flat_map(|nodes| sampled(nodes, LOOKS)).collect();
        let thin = |nodes: &Vec<Node>| {
            sampled(nodes, LOOKS).iter().any(|&point| {
                top.windows(2).any(|pair| {
                    nearest_on_line(pair[0], pair[1], point).distance(point) < height / 2.0
                })
            })
        };
        let mut wrong = Vec::new();
        for (nodes, path, value, why) in [
            (
                &self.lower[0],
                "saddle.station_mm",
                job.saddle.station_mm,
                "between the pad cup and the hinge",
            ),
            (
                &self.lower[1],
                "spring.seat_from_hinge_mm",
                job.spring.seat_from_hinge_mm,
                "between the hinge and the spring's seat",
            ),
            (
                &self.lower[2],
                "rod_loop.lap_mm",
                job.rod_loop.lap_mm,
                "between the spring's seat and the rod",
            ),
        ] {
            if thin(nodes) {
                wrong.push(Violation::error(
                    path,
                    value,
                    format!("an arm at least {:.2} mm high throughout", height / 2.0),
                    format!("The arm turns so sharply {why} that less than half its height is left: give it more room there, or take a lower arm."),
                ));
            }
        }
        if wrong.is_empty() { Ok(()) } else { Err(wrong) }
    }

    /// The closed outline, counter-clockwise, and the index of the side that is the spring's seat.
    fn closed(&self, lower: &Runs, upper: &Runs, height: f64) -> (Outline, usize) {
        let round = (height / 4.0).min(0.8);
        let at = |stand: Stand, along: f64, up: f64| {
            stand.point + stand.along * along + stand.along.perp() * up
        };
        let quarter = std::f64::consts::FRAC_PI_2;
        let corner = |from: DVec2, centre: DVec2| Side::Arc { from, centre, sweep: quarter };
        let (cup, end) = (lower.cup[0], lower.lap[1]);
        let mut sides = vec![
            Side::line(at(cup, round, 0.0), lower.cup[1].point),
            Side::cubic(self.lower[0].clone()),
            Side::line(lower.hinge[0].point, lower.hinge[1].point),
            Side::cubic(self.lower[1].clone()),
        ];
        let spring_side = sides.len();
        sides.extend([
            Side::line(lower.spring[0].point, lower.spring[1].point),
            Side::cubic(self.lower[2].clone()),
            Side::line(lower.lap[0].point, at(end, -round, 0.0)),
            corner(at(end, -round, 0.0), at(end, -round, round)),
            Side::line(at(end, 0.0, round), at(end, 0.0, height - round)),
            corner(at(end, 0.0, height - round), at(end, -round, height - round)),
            Side::line(at(end, -round, height), upper.lap[0].point),
            Side::cubic(reversed(&self.upper[2])),
            Side::line(upper.spring[1].point, upper.spring[0].point),
            Side::cubic(reversed(&self.upper[1])),
            Side::line(upper.hinge[1].point, upper.hinge[0].point),
            Side::cubic(reversed(&self.upper[0])),
            Side::line(upper.cup[1].point, at(cup, round, height)),
            corner(at(cup, round, height), at(cup, round, height - round)),
            Side::line(at(cup, 0.0, height - round), at(cup, 0.0, round)),
            corner(at(cup, 0.0, round), at(cup, round, round)),
        ]);
        (Outline::new(sides), spring_side)
    }
}

/// Holds the outline against itself and against the hinge's hole.
fn sound(job: &Job, outline: &Outline, hole: &PlateHole) -> Result<(), Vec<Violation>> {
    if crossing(&polyline(outline)).is_some() {
        return Err(vec![Violation::error(
            "key.arm_height_mm",
            job.key.arm_height_mm,
            "a lower arm, or more room between vent, hinge, spring and loop",
            "The edges of the arm would cross: no plate can be cut like that.",
        )]);
    }
    let (distance, _) = outline.signed_distance(hole.centre, |_| true);
    if -distance - hole.radius < LEAST_LAND - 1e-9 {
        return Err(vec![Violation::error(
            "key.boss_land_mm",
            job.key.boss_land_mm,
            format!("at least {LEAST_LAND} mm of metal all round the hinge tube"),
            "The hole for the hinge tube would break out of the arm.",
        )]);
    }
    Ok(())
}

/// The key arm.
pub fn part(job: &Job, arm: &Arm) -> Part {
    Part::moving(
        "key_arm",
        "key arm",
        job.key.metal,
        "cut from plate by waterjet, drilled",
        Shape::Plate(arm.plate.clone()),
    )
}
