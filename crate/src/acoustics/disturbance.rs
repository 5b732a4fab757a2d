//! Where something stands in the bore or its wall ends: what it takes of the area, and what it is to the waves.
//!
//! All of it is far shorter than a wave, so it is an inertia in line and a volume beside: lumps between slices.
//!
//! - **The vent's end** stands in the air that passes. It takes its volume away, and the air that goes round it is more
//!   sluggish than the lost area alone says: a body of volume V in a duct of area S adds the length over area
//!   (1 + k) V / S², k its added mass (H. Lamb, *Hydrodynamics*, 6th ed., sections 71, 114 and 373). k is 0 for what only
//!   narrows the tube smoothly and 1 for a rod from wall to wall; here it is that of the spheroid which the end and its
//!   mirror image in the wall come nearest to.
//! - **A step**, where the wall ends and another bore begins: the flow that spreads or gathers in front of it adds an inertia.
//!   J. Kergomard & A. Garcia, J. Sound Vib. 114 (1987) 465-479, give it as a polynomial of the ratio of the radii, which is
//!   the 0.8216 radii of a wide flange for none and nothing for equal ones; from memory, and held against a sum over the
//!   duct's own modes in `tests/occt/acoustic_tables.py`.
//! - **A groove** behind a wall's end holds air that is only pressed together.

use std::f64::consts::PI;

use num_complex::Complex64 as Complex;
use serde::Serialize;

use crate::geometry::bore::Bore;
use crate::job::Job;
use crate::parts::cork_starts;

use super::contender::Customer;
use super::losses::Medium;
use super::neck_on_horn::Mouthpiece;
use super::segment::{State, Wave};

/// Coefficients of Kergomard & Garcia's polynomial, from the constant term on.
const STEP: [f64; 7] = [0.26164, -0.353, 0.0, 0.0809, 0.03816, -0.12386, 0.09616];
/// Strips across the vent's end by which its volume is summed.
const STRIPS: usize = 32;

/// An inertia in line and a volume beside. SI units.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Lump {
    /// Length over area that the flow gains, 1/m.
    pub line: f64,
    /// Air it adds, m³; negative for what it takes.
    pub room: f64,
    /// How the two change with the radius of the neck's bore there, a metre.
    pub line_by_radius: f64,
    pub room_by_radius: f64,
}

impl Lump {
    /// The state before it, from that behind.
    #[must_use]
    pub fn before(&self, medium: &Medium, wave: &Wave, behind: &State) -> State {
        let half = Complex::new(0.0, wave.inertia * self.line / 2.0);
        let (density, speed) = (medium.air.density, medium.air.speed);
        let stiffness = density * speed * speed;
        let beside = Complex::new(0.0, wave.omega * self.room / stiffness);
        behind.before_series(half).before_branch(beside).before_series(half)
    }

    /// A step between the neck's bore and another; radii in metres.
    #[must_use]
    pub fn step(neck: f64, other: f64) -> Self {
        let (narrow, wide) = (neck.min(other), neck.max(other));
        let share = narrow / wide;
        let horner =
            |(sum, slope): (f64, f64), term: &f64| (sum * share + term, slope * share + sum);
        let (value, slope) = STEP.iter().rev().fold((0.0, 0.0), horner);
        let line_by_radius = if neck < other {
            slope / (wide * narrow) - value / (narrow * narrow)
        } else {
            -slope / (wide * wide)
        };
        Self { line: value.max(0.0) / narrow, line_by_radius, ..Self::default() }
    }

    /// A ring of air beside the bore: its inner and outer radius and its width along the bore, metres.
    #[must_use]
    pub fn groove(inner: f64, outer: f64, width: f64) -> Self {
        let area = PI * (outer * outer - inner * inner).max(0.0);
        Self { room: area * width, ..Self::default() }
    }

    /// What stands in the bore.
    #[must_use]
    pub fn intruding(intrusion: &Intrusion, bore: f64) -> Self {
        let area = PI * bore * bore;
        let (volume, by_radius) = intrusion.volume_and_slope(bore);
        let by_volume = (1.0 + intrusion.added_mass()) / (area * area);
        Self {
            line: by_volume * volume,
            room: -volume,
            line_by_radius: by_volume * (by_radius - 4.0 * volume / bore),
            room_by_radius: -by_radius,
        }
    }
}

/// The round end of a vent, flat and square to its axis, that stands in the bore. Metres.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Intrusion {
    /// Radius of the vent's outside.
    pub outer: f64,
    /// How far it reaches past the wall.
    pub reach: f64,
}

impl Intrusion {
    /// Area it takes of the bore's section at a distance along the bore from its axis, its own hole included, m².
    #[must_use]
    pub fn area(&self, bore: f64, along: f64) -> f64 {
        self.area_and_slope(bore, along).0
    }

    /// Room it takes, m³.
    #[must_use]
    pub fn volume(&self, bore: f64) -> f64 {
        self.volume_and_slope(bore).0
    }

    /// The area, and its change with the radius of the bore.
    fn area_and_slope(&self, bore: f64, along: f64) -> (f64, f64) {
        let floor = (bore - self.reach).max(0.0);
        let chord = (self.outer * self.outer - along * along).max(0.0).sqrt();
        // Where the vent is wider than the wall is curved, its edge stays outside of the bore.
        let half = chord.min((bore * bore - floor * floor).max(0.0).sqrt());
        let turn = libm::asin((half / bore).min(1.0));
        let under_the_arc = bore * bore * turn + half * (bore * bore - half * half).max(0.0).sqrt();
        ((under_the_arc - 2.0 * half * floor).max(0.0), 2.0 * (bore * turn - half))
    }

    /// The volume and its change with the radius of the bore: strips of the area at even steps of the angle round the vent's axis.
    fn volume_and_slope(&self, bore: f64) -> (f64, f64) {
        let step = PI / STRIPS as f64;
        (0..STRIPS).fold((0.0, 0.0), |(volume, slope), k| {
            let (sin, cos) = libm::sincos((k as f64 + 0.5) * step - PI / 2.0);
            let width = self.outer * cos * step;
            let (area, by_radius) = self.area_and_slope(bore, self.outer * sin);
            (volume + area * width, slope + by_radius * width)
        })
    }

    /// Added mass over the mass of the air it takes the place of: that of a spheroid as wide as the vent and as high as it
    /// reaches on both sides of the wall's mirror, the flow across its axis (Lamb, section 114: γ₀/(2 − γ₀) in the plane of a
    /// disc, β₀/(2 − β₀) across a rod).
    #[must_use]
    pub fn added_mass(&self) -> f64 {
        if self.reach <= 0.0 || self.outer <= 0.0 {
            return 0.0;
        }
        let ratio = self.reach / self.outer;
        // Near a sphere both forms lose their digits; its own is a half.
        let share = if (ratio - 1.0).abs() < 1e-3 {
            2.0 / 3.0
        } else if ratio < 1.0 {
            let e = (1.0 - ratio * ratio).sqrt();
            ratio / (e * e * e) * libm::asin(e) - ratio * ratio / (e * e)
        } else {
            let under = 1.0 / (ratio * ratio);
            let e = (1.0 - under).sqrt();
            1.0 / (e * e) - under / (2.0 * e * e * e) * libm::log((1.0 + e) / (1.0 - e))
        };
        share / (2.0 - share)
    }
}

/// The wall's ends and the vent's of one neck, on a customer's horn and mouthpiece, as the waves meet them. Metres.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Ends {
    pub vent: Intrusion,
    /// Inside radius of the mouthpiece's shank.
    pub shank: f64,
    /// The ring of air beside the tenon's free end, before the floor of the receiver: outer radius and width.
    pub receiver: (f64, f64),
    /// Station at which the tube ends in the tenon's socket, mm.
    pub tube_end_mm: f64,
    /// Width of the joint there, and the radius by which it is deeper than the bore.
    pub joint: (f64, f64),
    /// Volume of the pocket between end ring and shank, before the cork begins, m³.
    pub pocket: f64,
}

impl Ends {
    /// Those of a job's neck with a centreline of this length, mm. What its own job says of horn and mouthpiece is not asked.
    #[must_use]
    pub fn of(job: &Job, customer: &Customer, length_mm: f64) -> Self {
        let horn = &customer.horn;
        let shank = customer.mouthpiece.shank_bore_mm / 2.0;
        let bead = (job.end_ring.bead_diameter_mm / 2.0).min(shank);
        let beyond = horn.rim_gap_mm + horn.receiver_depth_mm - job.tenon.length_mm;
        let (gap, tenon) = (job.limits.joint_gap_mm, &job.tenon);
        Self {
            vent: Intrusion {
                outer: job.vent.outer_diameter_mm * 0.5e-3,
                reach: job.vent.reach_inside_mm * 1e-3,
            },
            shank: shank * 1e-3,
            receiver: (horn.receiver_bore_mm * 0.5e-3, beyond.max(0.0) * 1e-3),
            tube_end_mm: length_mm - tenon.length_mm - tenon.collar_length_mm
                + tenon.socket_depth_mm,
            joint: (gap * 1e-3, (job.tube.wall_mm() + gap) * 1e-3),
            pocket: PI * (shank * shank - bead * bead) * cork_starts(job) * 1e-9,
        }
    }

    /// What the wall's end in the mouthpiece is to the waves, at this radius of the bore: a step to what the mouthpiece is taken
    /// for, and to nothing else. What lies round the end ring is part of what the mouthpiece holds.
    #[must_use]
    pub fn cork_end(&self, bore: f64, mouthpiece: &Mouthpiece) -> Lump {
        Lump::step(bore, mouthpiece.tube.unwrap_or(self.shank))
    }

    /// What the tenon's end is, at this radius of the bore, before a horn that begins with another.
    #[must_use]
    pub fn tenon_end(&self, bore: f64, horn: f64) -> Lump {
        let (outer, width) = self.receiver;
        Lump { room: Lump::groove(horn, outer, width).room, ..Lump::step(bore, horn) }
    }

    /// Everything that disturbs the area of a bore, from the cork end on.
    #[must_use]
    pub fn along(
        &self,
        bore: &Bore,
        (length_mm, vent_mm): (f64, f64),
        (mouthpiece, horn_entry_mm): (&Mouthpiece, f64),
    ) -> Vec<Disturbance> {
        let radius = |station: f64| bore.radius(station) * 1e-3;
        let area = |radius: f64| PI * radius * radius;
        let told = |at, station_mm, disturbed: f64, lump: Lump, taken: &str| {
            let whole = area(radius(station_mm));
            let length = lump.line * whole * 1e3;
            Disturbance {
                at,
                station_mm,
                area_mm2: whole * 1e6,
                disturbed_area_mm2: disturbed * 1e6,
                volume_mm3: lump.room * 1e9,
                added_length_mm: length,
                least_length_mm: 0.0,
                greatest_length_mm: length,
                taken: taken.to_owned(),
            }
        };
        let (entry, end) = (radius(0.0), radius(length_mm));
        let pocket = Lump { room: self.pocket, ..self.cork_end(entry, mouthpiece) };
        let taken = match mouthpiece.tube {
            Some(_) => {
                "The wall ends inside the shank, and the mouthpiece begins. It is taken as a plain tube as wide as the entry of the first neck, so the waves meet the step from this bore to that tube: none on the first. A shank that went on as wide inside would be the most there could be. The pocket of air round the end ring is part of what the mouthpiece holds."
            }
            None => {
                "The wall ends inside the shank. The step is taken as sharp, as if the shank went on as wide inside. The pocket of air round the end ring is part of what the mouthpiece holds."
            }
        };
        let into_the_shank = Lump::step(entry, self.shank).line * area(entry) * 1e3;
        let mut list = vec![Disturbance {
            // a bore far wider than the first's meets a greater step to the first's entry than into the shank
            greatest_length_mm: into_the_shank.max(pocket.line * area(entry) * 1e3),
            ..told(DisturbedAt::CorkEnd, 0.0, area(self.shank), pocket, taken)
        }];
        if self.vent.reach > 0.0 {
            let here = radius(vent_mm);
            let lump = Lump::intruding(&self.vent, here);
            let smooth = self.vent.volume(here) / area(here) * 1e3;
            list.push(Disturbance {
                least_length_mm: smooth,
                greatest_length_mm: 2.0 * smooth,
                ..told(
                    DisturbedAt::Vent,
                    vent_mm,
                    area(here) - self.vent.area(here, 0.0),
                    lump,
                    "The vent’s end stands in the bore. Its room is taken away, and its inertia is that of half a spheroid of its width and height, between that of a smooth narrowing and that of a rod from wall to wall. Its own mouth is taken as flush with the wall, which may be off by a fifth of its radius.",
                )
            });
        }
        let tube_end = radius(self.tube_end_mm);
        let (gap, deep) = self.joint;
        list.push(Disturbance {
            added_length_mm: 0.0,
            greatest_length_mm: 0.0,
            ..told(
                DisturbedAt::Socket,
                self.tube_end_mm,
                area(tube_end + deep),
                Lump::groove(tube_end, tube_end + deep, gap),
                "The tube ends in the tenon’s socket. The joint is taken as filled with solder, so it is not in the waves; left open, its groove would hold this.",
            )
        });
        let horn = horn_entry_mm * 1e-3;
        list.push(told(
            DisturbedAt::TenonEnd,
            length_mm,
            area(horn),
            self.tenon_end(end, horn),
            "The wall ends and the horn’s own bore begins. The step is taken as sharp; the ring of air between the tenon’s end and the receiver’s floor is taken with its volume.",
        ));
        list
    }
}

/// Something that disturbs the bore's area.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(target_arch = "wasm32", derive(tsify::Tsify))]
pub struct Disturbance {
    pub at: DisturbedAt,
    pub station_mm: f64,
    /// Area of the neck's bore there.
    pub area_mm2: f64,
    /// Area in its place at the narrowest or beyond the wall's end.
    pub disturbed_area_mm2: f64,
    /// Air it adds beside the bore; negative for what it takes.
    pub volume_mm3: f64,
    /// Length of this bore that is as sluggish as what it adds in line, as it is taken, and the bounds of what it may be.
    pub added_length_mm: f64,
    pub least_length_mm: f64,
    pub greatest_length_mm: f64,
    /// How it is taken in the model, in words.
    pub taken: String,
}

/// What it is that disturbs.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[cfg_attr(target_arch = "wasm32", derive(tsify::Tsify))]
#[serde(rename_all = "snake_case")]
pub enum DisturbedAt {
    /// The tube's end in the mouthpiece.
    CorkEnd,
    /// The vent's end inside the bore.
    Vent,
    /// The tube's end in the tenon's socket.
    Socket,
    /// The tenon's end in the receiver.
    TenonEnd,
}
