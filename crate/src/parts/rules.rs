//! Rules between parameters: what the range of a single one cannot say. Every broken rule is named at once.
//!
//! A rule keeps a part from being impossible to make or to model. Parts that run into each other are no broken rule
//! but a finding of the clearance list, which can show by how much. The allowances named here and in the other
//! files of this room (least metal left at holes and edges, fullest bend, thread, margins) are common practice, no source.

use serde_json::Value;

use crate::job::parameters::{Bore, BraceForm, Centreline, Piece};
use crate::job::{Job, Violation};
use crate::units::{deg_from_rad, rad_from_deg};

use super::key::Key;
use super::key_arm::LEAST_LAND;
use super::places::{Places, in_plane};
use super::{brace, cork, end_ring, guide, keepouts, posts, spring};

/// Greatest share of the bend's radius that the tube may fill: nearer its middle the inside of the bend would wrinkle
/// into itself.
const FULLEST_BEND: f64 = 0.8;
/// Greatest share of the bend's radius that a part on the inside of the bend may reach to.
const FULLEST_INSIDE: f64 = 0.9;
/// Longest neck, mm; a job's stations go no further.
const LONGEST: f64 = 600.0;
/// Least thickness of cork that can be glued and sanded, mm.
const LEAST_CORK: f64 = 0.3;
/// Narrowest bore a neck is modelled with, as a radius, mm.
const LEAST_BORE_RADIUS: f64 = 2.5;
/// Steepest wall of a measured bore against the centreline, as rise over run: about 14 degrees.
const STEEPEST_BORE: f64 = 0.25;
/// Least flat left at the end of the tenon and between two bends of the rod, mm.
const LEAST_FLAT: f64 = 0.05;
/// Least wall left to the end ring over the tube, mm.
const LEAST_RING: f64 = 0.1;

/// What every rule about the tube rests on.
const TUBE: &[&str] = &["centreline", "bore", "tube"];

/// What the key's shape rests on.
const KEY: &[&str] = &[
    "centreline",
    "bore",
    "tube",
    "tenon.length_mm",
    "vent.station_mm",
    "vent.stand_mm",
    "pad",
    "pad_cup",
    "saddle",
    "posts.axis_height_mm",
    "hinge.tube_outer_diameter_mm",
    "key",
    "rod_loop",
    "spring",
    "spring_screw",
    "guide",
    "limits",
];

/// Every broken rule of a job, errors and warnings.
///
/// A rule that rests on a field named by an error in `already` is passed over: that field does not hold what the maker
/// wrote.
pub fn rules(job: &Job, already: &[Violation]) -> Vec<Violation> {
    examine(job, &Places::of(job), already).0
}

/// Every broken rule, and the key if it can be shaped.
pub(super) fn examine(
    job: &Job,
    places: &Places,
    already: &[Violation],
) -> (Vec<Violation>, Option<Key>) {
    let mut book = Book {
        job,
        places,
        written: serde_json::to_value(job).unwrap_or_default(),
        wrong: already
            .iter()
            .filter(|violation| violation.is_error())
            .map(|violation| violation.path.clone())
            .collect(),
        found: Vec::new(),
    };
    book.centreline();
    book.bore();
    book.tenon();
    book.cork_end();
    book.vent_and_pad();
    book.brace();
    book.saddle_and_posts();
    book.hinge();
    book.rod_loop();
    book.spring();
    book.guide();
    book.badge();
    book.horn();
    book.limits();
    // What follows is shaped from these numbers, not only measured against them.
    book.wrong.extend(
        book.found
            .iter()
            .filter(|violation| violation.is_error())
            .map(|violation| violation.path.clone()),
    );
    let key = book.key();
    (book.found, key)
}

/// The rules being put to a job.
struct Book<'a> {
    job: &'a Job,
    places: &'a Places,
    /// The job as it is written, to look values up by their path.
    written: Value,
    /// Paths named by errors.
    wrong: Vec<String>,
    found: Vec<Violation>,
}

/// Whether one path is the other or holds it.
fn touches(a: &str, b: &str) -> bool {
    let holds = |outer: &str, inner: &str| {
        inner
            .strip_prefix(outer)
            .is_some_and(|rest| rest.is_empty() || rest.starts_with(['.', '[']))
    };
    a.is_empty() || b.is_empty() || holds(a, b) || holds(b, a)
}

impl Book<'_> {
    /// Whether no error names any of these fields.
    fn sound(&self, paths: &[&str]) -> bool {
        !self.wrong.iter().any(|wrong| paths.iter().any(|path| touches(path, wrong)))
    }

    /// What is written at a path.
    fn at(&self, path: &str) -> Value {
        let pointer: String =
            path.split(['.', '[']).flat_map(|step| ["/", step.trim_end_matches(']')]).collect();
        self.written.pointer(&pointer).cloned().unwrap_or_default()
    }

    fn refuse(&mut self, path: &str, allowed: String, why: &str) {
        let value = self.at(path);
        self.found.push(Violation::error(path, value, allowed, why));
    }

    fn warn(&mut self, path: &str, allowed: String, why: &str) {
        let value = self.at(path);
        self.found.push(Violation::warning(path, value, allowed, why));
    }

    /// The number at `path` must be `least` or more.
    fn at_least(&mut self, path: &str, least: f64, rests_on: &[&str], why: &str) {
        let value = self.at(path).as_f64().unwrap_or(f64::INFINITY);
        if value < least - 1e-9 && self.sound(&[path]) && self.sound(rests_on) {
            let allowed =
                format!("at least {} {}", (least * 100.0 - 1e-6).ceil() / 100.0, unit(path));
            self.refuse(path, allowed, why);
        }
    }

    /// The number at `path` must be `most` or less.
    fn at_most(&mut self, path: &str, most: f64, rests_on: &[&str], why: &str) {
        let value = self.at(path).as_f64().unwrap_or(f64::NEG_INFINITY);
        if value > most + 1e-9 && self.sound(&[path]) && self.sound(rests_on) {
            let allowed =
                format!("at most {} {}", (most * 100.0 + 1e-6).floor() / 100.0, unit(path));
            self.refuse(path, allowed, why);
        }
    }

    /// Greatest and least bore radius between two stations.
    fn bore_between(&self, from: f64, to: f64) -> (f64, f64) {
        let count = ((to - from).abs() / 0.5).ceil().clamp(1.0, 2000.0) as usize;
        (0..=count)
            .map(|i| self.places.neck.bore.radius(from + (to - from) * i as f64 / count as f64))
            .fold((f64::NEG_INFINITY, f64::INFINITY), |(most, least), radius| {
                (most.max(radius), least.min(radius))
            })
    }

    /// Whether a part that stands `offset` off the tube comes too near the middle of a bend it lies inside of. `turn` is 1
    /// for a part under the tube, -1 for one on top, 0 for either. Not asked where the bend is too tight for the tube.
    fn fills_bend(&self, from: f64, to: f64, offset: f64, turn: f64) -> bool {
        if self.found.iter().any(|violation| touches(&violation.path, "centreline")) {
            return false;
        }
        let count = ((to - from).abs() / 0.5).ceil().clamp(1.0, 2000.0) as usize;
        (0..=count)
            .map(|i| {
                let station = from + (to - from) * i as f64 / count as f64;
                let curvature = self.places.neck.at(station).curvature;
                let inside = if turn == 0.0 { curvature.abs() } else { curvature * turn };
                inside * (self.places.neck.outside(station) + offset)
            })
            .any(|share| share > FULLEST_INSIDE)
    }

    fn centreline(&mut self) {
        if !self.sound(TUBE) {
            return;
        }
        let length = self.places.length;
        if length > LONGEST {
            self.refuse(
                "centreline",
                format!("at most {LONGEST} mm long"),
                "The neck is longer than any horn's.",
            );
        }
        self.straight_ends();
        match &self.job.centreline {
            Centreline::Pieces(line) => {
                let mut from = 0.0;
                for (index, piece) in line.pieces.iter().enumerate() {
                    match piece {
                        Piece::Straight(straight) => from += straight.straight_mm,
                        Piece::Bend(bend) => {
                            let to = from + rad_from_deg(bend.bend_deg.abs()) * bend.radius_mm;
                            let widest = self.bore_between(from, to).0 + self.places.neck.wall;
                            self.at_least(
                                &format!("centreline.pieces[{index}].radius_mm"),
                                widest / FULLEST_BEND,
                                &[],
                                "The bend is too tight for the tube: the inside of the bend would wrinkle into itself.",
                            );
                            from = to;
                        }
                    }
                }
            }
            Centreline::Points(line) => self.measured_bends(line.points.len()),
        }
        if !self.found.iter().any(Violation::is_error) && self.meets_itself() {
            self.refuse(
                "centreline",
                "a line that keeps clear of itself".to_owned(),
                "The tube would run into itself.",
            );
        }
    }

    /// The neck runs straight under the cork, and through socket and tenon.
    fn straight_ends(&mut self) {
        let (cork, tenon) = (self.job.cork.to_station_mm, self.places.length - self.places.collar);
        let under_cork =
            "The tube bends under the cork: end ring, cork and mouthpiece need it straight.";
        let in_tenon = "The tube bends in the tenon's socket: collar and sleeve need it straight.";
        let tenon_fields = ["tenon.length_mm", "tenon.collar_length_mm"];
        match &self.job.centreline {
            Centreline::Points(_) => {
                self.at_least(
                    "centreline.straight_start_mm",
                    cork,
                    &["cork.to_station_mm"],
                    under_cork,
                );
                self.at_least("centreline.straight_end_mm", tenon, &tenon_fields, in_tenon);
            }
            Centreline::Pieces(line) => {
                let straight = |piece: &&Piece| matches!(piece, Piece::Straight(_));
                let run = |pieces: &mut dyn Iterator<Item = &Piece>| -> f64 {
                    pieces
                        .map_while(|piece| match piece {
                            Piece::Straight(piece) => Some(piece.straight_mm),
                            Piece::Bend(_) => None,
                        })
                        .sum()
                };
                let first = run(&mut line.pieces.iter());
                let last = run(&mut line.pieces.iter().rev());
                let end = line.pieces.len().saturating_sub(1);
                let field = |index: usize| {
                    let kind = if line.pieces.get(index).as_ref().is_some_and(straight) {
                        "straight_mm"
                    } else {
                        "bend_deg"
                    };
                    format!("centreline.pieces[{index}].{kind}")
                };
                let short = |run: f64, wanted: f64| run < wanted - 1e-9;
                if short(first, cork) && self.sound(&["cork.to_station_mm"]) {
                    self.refuse(
                        &field(0),
                        format!("straight for at least {cork:.2} mm from the cork end"),
                        under_cork,
                    );
                }
                if short(last, tenon) && self.sound(&tenon_fields) {
                    self.refuse(
                        &field(end),
                        format!("straight for at least {tenon:.2} mm to the free end"),
                        in_tenon,
                    );
                }
            }
        }
    }

    /// Bends of a line laid through measured points; every span of it is looked at eight times.
    fn measured_bends(&mut self, count: usize) {
        let neck = self.places.neck.clone();
        let spans = neck.centreline.inner_breaks();
        let mut worst = (FULLEST_BEND, None);
        for pair in spans.windows(2) {
            for i in 0..=8 {
                let station = pair[0] + (pair[1] - pair[0]) * f64::from(i) / 8.0;
                let share = neck.at(station).curvature.abs() * neck.outside(station);
                if share.is_nan() || share > worst.0 {
                    worst = (share, Some(station));
                }
            }
        }
        let Some(station) = worst.1 else { return };
        // One more span than points: the first span has a knot of its own.
        let index = spans
            .partition_point(|knot| *knot < station)
            .saturating_sub(2)
            .min(count.saturating_sub(1));
        self.refuse(
            &format!("centreline.points[{index}]"),
            format!("bends of at least {:.1} mm radius", neck.outside(station) / FULLEST_BEND),
            "The line through the points bends too tightly here for the tube: a point may be measured or written wrong.",
        );
    }

    /// Whether the tube meets itself in another place.
    fn meets_itself(&self) -> bool {
        let neck = &self.places.neck;
        let count = (self.places.length / 2.0).ceil().clamp(1.0, 400.0) as usize;
        let rings: Vec<_> = (0..=count)
            .map(|i| self.places.length * i as f64 / count as f64)
            .map(|station| (station, neck.at(station).centre, neck.outside(station)))
            .collect();
        rings.iter().enumerate().any(|(i, a)| {
            rings.iter().skip(i + 1).any(|b| {
                let reach = a.2 + b.2;
                b.0 - a.0 > 2.0 * reach && a.1.distance(b.1) < reach
            })
        })
    }

    fn bore(&mut self) {
        if !self.sound(TUBE) {
            return;
        }
        if let Bore::Table(bore) = &self.job.bore {
            for (index, pair) in bore.table.windows(2).enumerate() {
                let [a, b] = pair else { continue };
                let most = a.diameter_mm + 2.0 * STEEPEST_BORE * (b.station_mm - a.station_mm);
                self.at_most(
                    &format!("bore.table[{}].diameter_mm", index + 1),
                    most,
                    &[],
                    "The bore opens too steeply from the row before: a diameter or a station may be written wrong.",
                );
                self.at_least(
                    &format!("bore.table[{}].diameter_mm", index + 1),
                    a.diameter_mm - 2.0 * STEEPEST_BORE * (b.station_mm - a.station_mm),
                    &[],
                    "The bore closes too steeply from the row before: a diameter or a station may be written wrong.",
                );
            }
            let narrowest = self.bore_between(0.0, self.places.length).1;
            if narrowest < LEAST_BORE_RADIUS {
                self.found.push(Violation::error(
                    "bore.table",
                    2.0 * narrowest,
                    format!("at least {} mm everywhere", 2.0 * LEAST_BORE_RADIUS),
                    "Carried on beyond its last row the bore closes: measure it to the free end of the tenon.",
                ));
            }
            let end = bore.table.len().saturating_sub(1);
            let last = bore.table.last().map_or(0.0, |row| row.station_mm);
            let path = format!("bore.table[{end}].station_mm");
            if last < self.places.length - 5.0 {
                self.warn(
                    &path,
                    format!("{:.1} mm, the free end of the tenon", self.places.length),
                    "Beyond its last row the bore is carried straight on: measure it to the free end.",
                );
            } else if last > self.places.length + 5.0 {
                self.warn(
                    &path,
                    format!("{:.1} mm, the free end of the tenon", self.places.length),
                    "The table goes on beyond the neck: centreline and bore may not belong together.",
                );
            }
        }
    }

    fn tenon(&mut self) {
        if !self.sound(TUBE) {
            return;
        }
        let given = &self.job.tenon;
        let (gap, wall) = (self.places.gap, self.places.neck.wall);
        let bottom = self.places.tube_end + gap;
        let own_bore = self.bore_between(bottom, self.places.length).0;
        let sizes = [
            "tenon.length_mm",
            "tenon.collar_length_mm",
            "tenon.socket_depth_mm",
            "limits.joint_gap_mm",
        ];
        let walls = [&sizes[..], &["tenon.least_wall_mm", "tenon.chamfer_mm"]].concat();
        self.at_least(
            "tenon.outer_diameter_mm",
            2.0 * (own_bore + given.least_wall_mm.max(given.chamfer_mm + LEAST_FLAT)),
            &walls,
            "The bore is so wide at its end that the tenon has no wall left: a smaller taper or entry, a shorter neck, or a larger tenon.",
        );
        let socket = self.bore_between(self.places.collar, bottom).0 + wall + gap;
        self.at_least(
            "tenon.collar_diameter_mm",
            2.0 * (socket + given.least_wall_mm + 0.1),
            &walls,
            "The socket for the tube leaves no wall in the collar.",
        );
        self.at_least(
            "tenon.collar_diameter_mm",
            given.outer_diameter_mm + 0.6,
            &["tenon.outer_diameter_mm"],
            "The collar must stand out from the sleeve to sit on the receiver.",
        );
        self.at_most(
            "tenon.socket_depth_mm",
            given.collar_length_mm - gap - 0.2,
            &["tenon.collar_length_mm", "limits.joint_gap_mm"],
            "The socket must end inside the collar, or it weakens the sleeve.",
        );
    }

    fn cork_end(&mut self) {
        let job = self.job;
        let (gap, wall) = (self.places.gap, self.places.neck.wall);
        let ring = job.end_ring;
        self.at_least(
            "end_ring.length_mm",
            end_ring::least_length(job),
            &["end_ring.bead_radius_mm"],
            "The ring is too short to be rounded so much.",
        );
        if self.sound(TUBE) {
            let under = self.bore_between(0.0, ring.length_mm).0 + wall + gap;
            let ring_fields = ["end_ring.length_mm", "limits.joint_gap_mm"];
            self.at_least(
                "end_ring.bead_diameter_mm",
                2.0 * (under + LEAST_RING),
                &ring_fields,
                "The bead would lie under the tube: it must stand out from the tube's outside.",
            );
            let rounding = end_ring::rounding(job, self.places);
            if (0.0..ring.bead_radius_mm).contains(&rounding)
                && self.sound(&["end_ring.bead_radius_mm", "end_ring.bead_diameter_mm"])
            {
                self.warn(
                    "end_ring.bead_radius_mm",
                    format!("at most {:.2} mm", (rounding * 100.0).floor() / 100.0),
                    "The bead stands out from the tube by less than this: it is rounded as far as there is metal.",
                );
            }
            let under = self.bore_between(0.0, job.cork.to_station_mm).0 + wall + gap;
            self.at_least(
                "mouthpiece.shank_bore_mm",
                2.0 * (under + LEAST_CORK),
                &["cork.to_station_mm", "limits.joint_gap_mm"],
                "The tube grows so wide under the cork that no cork is left: a shorter cork, a smaller entry, or a wider shank.",
            );
            self.at_most(
                "cork.to_station_mm",
                self.places.collar - 1.0,
                &["tenon.length_mm", "tenon.collar_length_mm"],
                "The cork would run under the collar.",
            );
        }
        self.at_least(
            "cork.to_station_mm",
            cork::from_station(job) + 3.0,
            &["end_ring.length_mm", "limits"],
            "No cork is left behind the end ring.",
        );
        self.at_most(
            "mouthpiece.deepest_push_mm",
            job.cork.to_station_mm,
            &["cork.to_station_mm"],
            "The mouthpiece would be pushed past the end of the cork.",
        );
        self.at_least(
            "mouthpiece.shank_diameter_mm",
            job.mouthpiece.shank_bore_mm + 1.0,
            &["mouthpiece.shank_bore_mm"],
            "The shank has no wall.",
        );
    }

    fn vent_and_pad(&mut self) {
        let job = self.job;
        let vent = &job.vent;
        let half = vent.outer_diameter_mm / 2.0;
        self.at_least(
            "vent.outer_diameter_mm",
            vent.bore_mm + 2.0 * (vent.chamfer_mm + 0.3),
            &["vent.bore_mm", "vent.chamfer_mm"],
            "Bore and chamfer leave no seat for the pad: a ring of 0.3 mm at least.",
        );
        self.at_least(
            "vent.stand_mm",
            vent.chamfer_mm + 0.2,
            &["vent.chamfer_mm"],
            "The chamfer would run down into the tube.",
        );
        let clear = job.limits.least_clearance_mm;
        self.at_least(
            "vent.station_mm",
            job.cork.to_station_mm.max(job.mouthpiece.deepest_push_mm) + half + clear,
            &[
                "cork.to_station_mm",
                "mouthpiece.deepest_push_mm",
                "vent.outer_diameter_mm",
                "limits.least_clearance_mm",
            ],
            "The vent would stand in the cork or under the mouthpiece.",
        );
        if self.sound(TUBE) {
            let bore = self.places.neck.bore.radius(vent.station_mm);
            let tenon = ["tenon.length_mm", "tenon.collar_length_mm"];
            self.at_most(
                "vent.station_mm",
                self.places.collar - half - clear,
                &[&tenon[..], &["vent.outer_diameter_mm"]].concat(),
                "The vent would stand in the collar.",
            );
            self.at_most(
                "vent.outer_diameter_mm",
                2.0 * (0.6 * bore - self.places.gap),
                &["vent.station_mm"],
                "The hole for the vent would take away too much of the tube's top.",
            );
            self.at_most(
                "vent.reach_inside_mm",
                0.8 * bore,
                &["vent.station_mm"],
                "The vent would reach past the middle of the bore to the other side.",
            );
        }
        self.at_least(
            "pad.diameter_mm",
            vent.outer_diameter_mm + 0.5,
            &["vent.outer_diameter_mm"],
            "The pad must cover the vent's seat with a margin.",
        );
        self.at_most(
            "pad.stand_out_mm",
            job.pad.thickness_mm - 0.4,
            &["pad.thickness_mm"],
            "The cup must hold the pad by 0.4 mm at least.",
        );
    }

    fn brace(&mut self) {
        let job = self.job;
        let given = &job.brace;
        let (from, to) = (given.from_station_mm, given.to_station_mm);
        let ends = ["brace.from_station_mm", "brace.to_station_mm"];
        let (least, why) = match given.form {
            BraceForm::Contact => {
                (5.0, "The brace must end behind its beginning, and be long enough to handle.")
            }
            BraceForm::Bridge => (
                2.0 * (given.foot_length_mm + brace::rise(job)) + 1.0,
                "The brace is too short for two feet and a bridge between them: shorter feet, or a lower bridge.",
            ),
        };
        let sizes = [
            "brace.from_station_mm",
            "brace.foot_length_mm",
            "brace.bridge_height_mm",
            "brace.thickness_mm",
        ];
        self.at_least("brace.to_station_mm", from + least, &sizes, why);
        let rise = match given.form {
            BraceForm::Contact => self.places.gap,
            BraceForm::Bridge => given.bridge_height_mm,
        };
        if given.form == BraceForm::Bridge {
            self.at_least(
                "brace.bridge_height_mm",
                self.places.gap + 0.1,
                &["limits.joint_gap_mm"],
                "The bridge must stand off the tube by more than its feet do.",
            );
        }
        if !self.sound(TUBE) {
            return;
        }
        self.at_most(
            "brace.to_station_mm",
            self.places.collar - job.limits.least_clearance_mm,
            &["tenon.length_mm", "tenon.collar_length_mm", "limits.least_clearance_mm"],
            "The brace would run under the collar or off the tube.",
        );
        let narrowest = self.bore_between(from, to).1 + self.places.neck.wall;
        self.at_most(
            "brace.width_mm",
            2.0 * narrowest,
            &ends,
            "A brace so wide would wrap more than a third of the tube.",
        );
        if self.sound(&["brace"]) && self.fills_bend(from, to, rise + given.thickness_mm, 1.0) {
            self.refuse(
                if given.form == BraceForm::Bridge {
                    "brace.bridge_height_mm"
                } else {
                    "brace.thickness_mm"
                },
                "less, or a wider bend".to_owned(),
                "The brace would reach the middle of the bend and wrinkle into itself.",
            );
        }
    }

    fn saddle_and_posts(&mut self) {
        let job = self.job;
        let saddle = &job.saddle;
        let half = saddle.length_mm / 2.0;
        let clear = job.limits.least_clearance_mm;
        self.at_least(
            "saddle.station_mm",
            job.vent.station_mm + job.vent.outer_diameter_mm / 2.0 + half + clear,
            &[
                "vent.station_mm",
                "vent.outer_diameter_mm",
                "saddle.length_mm",
                "limits.least_clearance_mm",
            ],
            "The saddle would lie over the vent: the hinge stands between vent and tenon.",
        );
        self.at_least(
            "saddle.length_mm",
            job.posts.diameter_mm,
            &["posts.diameter_mm"],
            "The posts would stand over the saddle's ends.",
        );
        let hole = posts::clear_hole(job).max(posts::tapped_hole(job));
        self.at_least(
            "posts.diameter_mm",
            2.0 * (hole + LEAST_LAND),
            &["hinge.screw_diameter_mm", "hinge.radial_clearance_mm", "hinge.thread"],
            "The hole for the hinge screw leaves no wall in the post.",
        );
        self.at_least(
            "posts.top_above_axis_mm",
            hole + LEAST_LAND + job.posts.chamfer_mm,
            &[
                "hinge.screw_diameter_mm",
                "hinge.radial_clearance_mm",
                "hinge.thread",
                "posts.chamfer_mm",
            ],
            "The hole for the hinge screw would break out of the post's top.",
        );
        self.at_most(
            "posts.chamfer_mm",
            job.posts.diameter_mm / 2.0 - 0.3,
            &["posts.diameter_mm"],
            "The chamfer leaves no flat on the post's top.",
        );
        let gap = self.places.gap;
        let seat = gap + saddle.thickness_mm;
        let around = hole.max(job.hinge.tube_outer_diameter_mm / 2.0) + gap + LEAST_LAND;
        self.at_least(
            "posts.axis_height_mm",
            (seat + gap + around).max(seat + job.key.gap_at_hinge_mm + around),
            &[
                "saddle.thickness_mm",
                "hinge.tube_outer_diameter_mm",
                "hinge.screw_diameter_mm",
                "hinge.radial_clearance_mm",
                "hinge.thread",
                "key.gap_at_hinge_mm",
                "limits.joint_gap_mm",
            ],
            "The hinge tube would lie in the saddle, or no metal of the arm would be left under it.",
        );
        if !self.sound(TUBE) {
            return;
        }
        self.at_most(
            "saddle.station_mm",
            self.places.collar - half - clear,
            &[
                "tenon.length_mm",
                "tenon.collar_length_mm",
                "saddle.length_mm",
                "limits.least_clearance_mm",
            ],
            "The saddle would run under the collar or off the tube.",
        );
        let station = saddle.station_mm;
        let top = self.bore_between(station - half, station + half).1
            + self.places.neck.wall
            + gap
            + saddle.thickness_mm;
        let reach = posts::spread(job) + job.posts.diameter_mm / 2.0;
        let spread = ["hinge.end_play_mm", "posts.diameter_mm", "saddle", "limits.joint_gap_mm"];
        if reach > 0.95 * top {
            let most = 2.0 * (0.95 * top - job.hinge.end_play_mm - job.posts.diameter_mm);
            self.at_most(
                "hinge.tube_length_mm",
                most,
                &spread,
                "The posts would stand beyond the side of the tube: a shorter hinge tube, or thinner posts.",
            );
        } else {
            self.at_least(
                "saddle.half_wrap_deg",
                deg_from_rad(libm::asin(reach / top)),
                &["hinge.tube_length_mm", "hinge.end_play_mm", "posts.diameter_mm", "saddle", "limits.joint_gap_mm"],
                "The posts would stand off the saddle's sides: a wider saddle, a shorter hinge tube, or thinner posts.",
            );
        }
        if self.fills_bend(station - half, station + half, gap + saddle.thickness_mm, -1.0) {
            self.refuse(
                "saddle.station_mm",
                "a station where the neck does not turn up so sharply".to_owned(),
                "The saddle would reach the middle of the bend and wrinkle into itself.",
            );
        }
    }

    fn hinge(&mut self) {
        let job = self.job;
        let given = &job.hinge;
        self.at_least(
            "hinge.screw_diameter_mm",
            given.thread.major_diameter_mm(),
            &["hinge.thread"],
            "The threaded end must pass through the clear post and the hinge tube.",
        );
        self.at_least(
            "hinge.tube_outer_diameter_mm",
            given.screw_diameter_mm + 2.0 * (given.radial_clearance_mm + 0.25),
            &["hinge.screw_diameter_mm", "hinge.radial_clearance_mm"],
            "The hinge tube has no wall left round its screw.",
        );
        self.at_least(
            "hinge.head_diameter_mm",
            2.0 * posts::clear_hole(job) + 0.3,
            &["hinge.screw_diameter_mm", "hinge.radial_clearance_mm"],
            "The screw's head would pass through the post.",
        );
        self.at_least(
            "hinge.tube_length_mm",
            job.key.arm_thickness_mm + 0.5,
            &["key.arm_thickness_mm"],
            "The posts would stand nearer together than the arm is thick.",
        );
    }

    fn rod_loop(&mut self) {
        let job = self.job;
        let given = &job.rod_loop;
        let bend = super::rod_loop::Bend::of(job, self.places);
        let tightest = 0.75 * given.rod_diameter_mm;
        for path in ["rod_loop.bend_radius_mm", "rod_loop.corner_radius_mm"] {
            self.at_least(
                path,
                tightest,
                &["rod_loop.rod_diameter_mm"],
                "Rod bent so tightly kinks, even annealed.",
            );
        }
        let across = [
            "rod_loop.rod_diameter_mm",
            "rod_loop.tilt_deg",
            "limits.joint_gap_mm",
            "key.arm_thickness_mm",
        ];
        self.at_least(
            "rod_loop.reach_player_mm",
            (bend.beside_arm + bend.leave + bend.corner + LEAST_FLAT) * libm::cos(rad_from_deg(given.tilt_deg))
                - given.rod_diameter_mm / 2.0,
            &[&across[..], &["rod_loop.bend_radius_mm", "rod_loop.corner_radius_mm"]].concat(),
            "The loop is too narrow for its bends: smaller bend or corner radius, or more reach on the player's side, which is also half its width.",
        );
        self.at_most(
            "rod_loop.corner_radius_mm",
            bend.bell - LEAST_FLAT,
            &["rod_loop.reach_bell_mm", "rod_loop.rod_diameter_mm", "rod_loop.tilt_deg"],
            "The corners are rounder than the loop is deep on the bell's side.",
        );
        self.at_least(
            "rod_loop.lap_mm",
            given.point_length_mm + 0.5,
            &["rod_loop.point_length_mm"],
            "The rod's points are longer than the ends laid along the arm.",
        );
    }

    fn spring(&mut self) {
        let job = self.job;
        let (given, screw) = (&job.spring, &job.spring_screw);
        let hole = spring::thread_room(job);
        self.at_least(
            "spring.width_mm",
            2.0 * (hole + spring::LEAST_SIDE),
            &["spring_screw.thread"],
            "The hole for its screw leaves no metal at the spring's sides: a wider spring, or a smaller screw.",
        );
        self.at_least(
            "spring.seat_length_mm",
            screw.head_diameter_mm.max(2.0 * (hole + spring::LEAST_SIDE)),
            &["spring_screw.head_diameter_mm", "spring_screw.thread"],
            "The screw's head needs the flat of the spring to bear on.",
        );
        self.at_least(
            "spring.reach_mm",
            given.seat_length_mm / 2.0 + 3.0,
            &["spring.seat_length_mm"],
            "No free length is left for the spring to bend.",
        );
        self.at_least(
            "spring_screw.head_diameter_mm",
            2.0 * hole + 0.2,
            &["spring_screw.thread"],
            "The screw's head would pass through the spring.",
        );
        let thread = screw.thread.row();
        self.at_least(
            "spring_screw.depth_mm",
            spring::least_depth(job),
            &["spring_screw.thread"],
            "The screw needs two turns of thread, and the hole half a millimetre more.",
        );
        self.at_most(
            "spring_screw.depth_mm",
            job.key.arm_height_mm - LEAST_LAND,
            &["key.arm_height_mm"],
            "The hole for the spring's screw would break out of the arm's upper edge.",
        );
        self.at_least(
            "key.arm_thickness_mm",
            thread.tap_drill_mm + 2.0 * LEAST_LAND,
            &["spring_screw.thread"],
            "The hole for the spring's screw leaves no wall in the arm: a thicker arm, or a smaller screw.",
        );
        if self.sound(TUBE) {
            let most = self.places.collar - 1.0 - (spring::tip_station(job) - given.reach_mm);
            self.at_most(
                "spring.reach_mm",
                most,
                &[
                    "saddle.station_mm",
                    "spring.seat_from_hinge_mm",
                    "tenon.length_mm",
                    "tenon.collar_length_mm",
                ],
                "The spring's tip would bear on the collar or beyond the tube.",
            );
        }
    }

    fn guide(&mut self) {
        let job = self.job;
        let given = &job.guide;
        let clear = job.limits.least_clearance_mm;
        let half = given.length_mm / 2.0;
        self.at_least(
            "guide.station_mm",
            job.saddle.station_mm + job.saddle.length_mm / 2.0 + half + clear,
            &[
                "saddle.station_mm",
                "saddle.length_mm",
                "guide.length_mm",
                "limits.least_clearance_mm",
            ],
            "The guide would stand on the saddle: it stands between saddle and collar.",
        );
        if !self.sound(TUBE) {
            return;
        }
        self.at_most(
            "guide.station_mm",
            self.places.collar - half - clear,
            &[
                "tenon.length_mm",
                "tenon.collar_length_mm",
                "guide.length_mm",
                "limits.least_clearance_mm",
            ],
            "The guide would run into the collar: it stands between saddle and collar.",
        );
        let (from, to) = guide::stations(job);
        let foot = self.bore_between(from, to).1
            + self.places.neck.wall
            + self.places.gap
            + given.strip_thickness_mm;
        let share = (guide::prong(job).1 + 0.3) / foot;
        let across = [
            "key.arm_thickness_mm",
            "guide.side_clearance_mm",
            "guide.strip_thickness_mm",
            "guide.station_mm",
        ];
        if share > libm::sin(rad_from_deg(60.0)) {
            self.at_most(
                "guide.side_clearance_mm",
                given.side_clearance_mm - (share - libm::sin(rad_from_deg(60.0))) * foot,
                &across,
                "The prongs would stand beyond the side of the tube: a thinner arm or strip, or less clearance.",
            );
        } else {
            self.at_least(
                "guide.half_wrap_deg",
                deg_from_rad(libm::asin(share)),
                &across,
                "The prongs would stand off the guide's foot.",
            );
        }
    }

    fn badge(&mut self) {
        let job = self.job;
        let Some(given) = &job.badge else { return };
        if !self.sound(TUBE) {
            return;
        }
        let half = given.length_mm / 2.0;
        let (from, to) = (given.station_mm - half, given.station_mm + half);
        let clear = job.limits.least_clearance_mm;
        self.at_least(
            "badge.station_mm",
            job.end_ring.length_mm + clear + half,
            &["badge.length_mm", "end_ring.length_mm", "limits.least_clearance_mm"],
            "The badge would run over the end ring or off the tube.",
        );
        self.at_most(
            "badge.station_mm",
            self.places.collar - clear - half,
            &[
                "badge.length_mm",
                "tenon.length_mm",
                "tenon.collar_length_mm",
                "limits.least_clearance_mm",
            ],
            "The badge would run into the collar or off the tube.",
        );
        let narrowest = self.bore_between(from, to).1 + self.places.neck.wall + self.places.gap;
        self.at_most(
            "badge.width_mm",
            2.8 * narrowest,
            &["badge.station_mm", "badge.length_mm"],
            "The badge would wrap more than half the tube.",
        );
        if self.sound(&["badge"])
            && self.fills_bend(from, to, self.places.gap + given.thickness_mm, 0.0)
        {
            self.refuse(
                "badge.station_mm",
                "a place where the neck does not bend so sharply".to_owned(),
                "The badge would reach the middle of the bend and wrinkle into itself.",
            );
        }
    }

    fn horn(&mut self) {
        let horn = &self.job.horn;
        self.at_least(
            "horn.receiver_diameter_mm",
            horn.receiver_bore_mm + 1.0,
            &["horn.receiver_bore_mm"],
            "The receiver has no wall: one of its diameters is measured or written wrong.",
        );
        self.at_least(
            "horn.clamp.offset_mm",
            horn.receiver_diameter_mm / 2.0 + horn.clamp.screw_diameter_mm / 2.0,
            &["horn.receiver_diameter_mm", "horn.clamp.screw_diameter_mm"],
            "The clamp's screw would run through the receiver: one of these is measured or written wrong.",
        );
        self.at_least(
            "horn.pin.height_mm",
            keepouts::pin_foot(self.job) + 1.0,
            &["horn.rim_gap_mm"],
            "The pin does not come up over the receiver's rim.",
        );
    }

    fn limits(&mut self) {
        let limits = &self.job.limits;
        for (path, least, with, what) in [
            (
                "limits.joint_gap_max_mm",
                limits.joint_gap_min_mm,
                "limits.joint_gap_min_mm",
                "of a soldered joint",
            ),
            (
                "limits.running_max_mm",
                limits.running_min_mm,
                "limits.running_min_mm",
                "of a running fit",
            ),
            (
                "limits.fit_max_mm",
                limits.fit_min_mm,
                "limits.fit_min_mm",
                "between tenon and receiver",
            ),
        ] {
            self.at_least(
                path,
                least,
                &[with],
                &format!("The greatest gap {what} is less than the least."),
            );
        }
    }

    /// Shapes the key, and looks at what it does to the pin.
    fn key(&mut self) -> Option<Key> {
        if !self.sound(KEY) {
            return None;
        }
        let key = match Key::new(self.job, self.places) {
            Ok(key) => key,
            Err(broken) => {
                self.found.extend(broken);
                return None;
            }
        };
        let pin = &self.job.horn.pin;
        let pin_fields = [
            "horn.pin.circle_radius_mm",
            "horn.pin.diameter_mm",
            "horn.pin.rest_gap_mm",
            "horn.pin.travel_mm",
        ];
        if self.sound(&pin_fields) {
            let wanted = pin.circle_radius_mm + pin.diameter_mm / 2.0 + pin.rest_gap_mm;
            if (self.job.rod_loop.reach_player_mm - wanted).abs() > 0.1 {
                self.warn(
                    "rod_loop.reach_player_mm",
                    format!("{wanted:.2} mm: pin circle, half the pin, and the rest gap"),
                    "At rest the loop does not stand off the octave pin by the rest gap.",
                );
            }
            let at_pin = in_plane(key.bend.middle - key.bend.to_bell * key.bend.player);
            let moved = (at_pin - key.swing.opened(at_pin)).dot(in_plane(self.places.tenon_axis.x));
            let available = pin.travel_mm - pin.rest_gap_mm;
            if moved > available + 0.02 {
                let most = (self.job.key.lift_mm * available / moved).max(0.0);
                self.warn(
                    "key.lift_mm",
                    format!("at most about {:.1} mm", (most * 10.0).floor() / 10.0),
                    "The pin's travel does not open the key so far: move the hinge away from the vent, or be content with less lift.",
                );
            }
        }
        Some(key)
    }
}

/// Unit a field is given in, as its name says.
fn unit(path: &str) -> &'static str {
    if path.ends_with("_deg") { "degrees" } else { "mm" }
}
