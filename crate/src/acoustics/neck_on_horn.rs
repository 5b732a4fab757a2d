//! A neck as the waves see it, on the rest of its horn.

use std::f64::consts::TAU;
use std::sync::Arc;

use num_complex::Complex64 as Complex;

use crate::geometry::neck::Neck;
use crate::job::Job;

use super::disturbance::{Ends, Lump};
use super::duct::{Duct, Piece};
use super::impedance::{Peak, peak_near, peaks};
use super::losses::Medium;
use super::radiation::open_end;
use super::segment::{Matrix, Segment, State, Wave};
use super::sweep::Sweep;
use super::vent::{Cover, SideHole};

/// Longest slice of a neck, mm. Halved, no peak of the alto's moves by a thousandth of a cent.
const SLICE_MM: f64 = 2.0;
/// Longest slice of the plain cone below: slices are exact cones, only their losses are averaged.
const BODY_SLICE_MM: f64 = 15.0;
/// About how long a mouthpiece is to the waves, m: enough to know how lively the whole is.
const MOUTHPIECE_LENGTH: f64 = 0.1;
/// How far peaks are looked for, in terms of the pitch of the first: beyond the fourth of a cone.
const PEAKS_UP_TO: f64 = 4.6;

/// The vent of a neck. Millimetres.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct NeckVent {
    pub station: f64,
    pub radius: f64,
    /// Through pip and wall, from inside to the pad's seat.
    pub length: f64,
    pub pad_radius: f64,
    pub lift: f64,
}

impl NeckVent {
    /// The vent of a job.
    #[must_use]
    pub fn of(job: &Job) -> Self {
        let vent = &job.vent;
        Self {
            station: vent.station_mm,
            radius: vent.bore_mm / 2.0,
            length: vent.stand_mm + vent.reach_inside_mm + job.tube.wall_mm(),
            pad_radius: job.pad.diameter_mm / 2.0,
            lift: job.key.lift_mm,
        }
    }
}

/// A neck cut into slices, vent shut and open, and where each slice begins.
#[derive(Clone, Debug)]
pub struct NeckBore {
    pub neck: Arc<Neck>,
    pub vent: NeckVent,
    pub ends: Ends,
    shut: Duct,
    open: Duct,
}

impl NeckBore {
    /// Slices of a neck with its vent and where its wall ends.
    #[must_use]
    pub fn new(neck: Arc<Neck>, vent: NeckVent, ends: Ends) -> Self {
        let hole = |cover: Cover| SideHole {
            radius: vent.radius * 1e-3,
            length: vent.length * 1e-3,
            bore: neck.bore.radius(vent.station) * 1e-3,
            cover,
        };
        let with = |cover: Cover| {
            let length = neck.centreline.length();
            let mut stations = neck.smooth_stretches(0.0, length);
            let vent_at = vent.station.clamp(0.0, length);
            stations.push(vent_at);
            stations.sort_by(f64::total_cmp);
            stations.dedup_by(|a, b| (*a - *b).abs() < 1e-9);
            let mut pieces = Vec::new();
            for pair in stations.windows(2) {
                let &[from, to] = pair else { continue };
                // A stretch may begin a rounding away from the vent and stand for its station.
                if (from - vent_at).abs() < 1e-6 {
                    pieces.push(Piece::Hole(hole(cover)));
                    let bore = neck.bore.radius(vent_at) * 1e-3;
                    pieces.push(Piece::Lump(Lump::intruding(&ends.vent, bore)));
                }
                let count = ((to - from) / SLICE_MM).ceil().max(1.0) as usize;
                let at = |k: usize| from + (to - from) * k as f64 / count as f64;
                pieces.extend((0..count).map(|k| {
                    let (a, b) = (at(k), at(k + 1));
                    let curvature = neck.at((a + b) / 2.0).curvature.abs();
                    let slice = Segment::cone(b - a, neck.bore.radius(a), neck.bore.radius(b));
                    Piece::Segment(slice.bent(curvature))
                }));
            }
            Duct { pieces }
        };
        let under = Cover::UnderPad { radius: vent.pad_radius * 1e-3, height: vent.lift * 1e-3 };
        let (shut, open) = (with(Cover::Shut), with(under));
        Self { neck, vent, ends, shut, open }
    }

    /// The tube with its vent open or shut.
    #[must_use]
    pub fn duct(&self, vent_open: bool) -> &Duct {
        if vent_open { &self.open } else { &self.shut }
    }

    /// Length along the centreline, mm.
    #[must_use]
    pub fn length_mm(&self) -> f64 {
        self.neck.centreline.length()
    }

    /// The same neck with another bore.
    #[must_use]
    pub fn with_bore(&self, bore: crate::geometry::bore::Bore) -> Self {
        Self::new(Arc::new(Neck { bore, ..(*self.neck).clone() }), self.vent, self.ends)
    }
}

/// The horn below the neck with one fingering, from the tenon's free end to the open end.
#[derive(Clone, Debug, PartialEq)]
pub struct Body {
    pub duct: Duct,
    /// Radius it begins with, m.
    pub entry: f64,
    /// Radius of its open end, m.
    pub end: f64,
}

impl Body {
    /// A plain cone of this length going on from a radius; millimetres.
    #[must_use]
    pub fn cone(length_mm: f64, entry_mm: f64, slope: f64) -> Self {
        let count = (length_mm / BODY_SLICE_MM).ceil().max(1.0) as usize;
        let end = entry_mm + slope * length_mm;
        Self {
            duct: Duct::cone(length_mm, entry_mm, end, count),
            entry: entry_mm * 1e-3,
            end: end * 1e-3,
        }
    }

    /// The state at the tenon's free end.
    #[must_use]
    pub fn state(&self, medium: &Medium, omega: f64) -> State {
        let end = open_end(&medium.air, self.end, omega);
        self.duct.carry(medium, omega, State::load(end))
    }
}

/// What the mouthpiece is to the waves: its inside beyond the end of the neck, with what the reed gives.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Mouthpiece {
    /// Volume, m³.
    pub volume: f64,
    /// Radius of a plain tube of this volume, m; none for a chamber without any length.
    pub tube: Option<f64>,
}

impl Mouthpiece {
    /// From the state at the cork end to that at the reed.
    #[must_use]
    pub fn matrix(&self, medium: &Medium, omega: f64) -> Matrix {
        let air = &medium.air;
        match self.tube {
            Some(radius) => {
                let length_mm = 1e3 * self.volume / (std::f64::consts::PI * radius * radius);
                Segment::cone(length_mm, radius * 1e3, radius * 1e3).matrix(medium, omega)
            }
            None => {
                let (zero, one) = (Complex::default(), Complex::new(1.0, 0.0));
                let admittance = omega * self.volume / (air.density * air.speed * air.speed);
                Matrix { a: one, b: zero, c: Complex::new(0.0, admittance), d: one }
            }
        }
    }
}

/// A neck on a horn with one fingering, and the mouthpiece at the cork end.
#[derive(Clone, Copy, Debug)]
pub struct Fingered<'a> {
    pub medium: &'a Medium,
    pub neck: &'a NeckBore,
    pub body: &'a Body,
    pub mouthpiece: Mouthpiece,
    pub vent_open: bool,
}

impl Fingered<'_> {
    /// The state in the neck's bore at the cork end.
    #[must_use]
    pub fn entry(&self, omega: f64) -> State {
        self.neck.duct(self.vent_open).carry(self.medium, omega, self.below(omega))
    }

    /// What lies between the neck's bore and the horn's own.
    #[must_use]
    pub fn junction(&self) -> Lump {
        let end = self.neck.neck.bore.radius(self.neck.length_mm()) * 1e-3;
        self.neck.ends.tenon_end(end, self.body.entry)
    }

    /// What lies between the mouthpiece and the neck's bore.
    #[must_use]
    pub fn mouth(&self) -> Lump {
        let entry = self.neck.neck.bore.radius(0.0) * 1e-3;
        self.neck.ends.cork_end(entry, &self.mouthpiece)
    }

    /// The state in the mouthpiece at the cork end, from that in the neck's bore.
    #[must_use]
    pub fn inside(&self, omega: f64, entry: &State) -> State {
        self.mouth().before(self.medium, &Wave::of(self.medium, omega), entry)
    }

    /// The state in the neck's bore at its end.
    #[must_use]
    pub fn below(&self, omega: f64) -> State {
        let horn = self.body.state(self.medium, omega);
        self.junction().before(self.medium, &Wave::of(self.medium, omega), &horn)
    }

    /// Admittance the reed sees.
    #[must_use]
    pub fn admittance(&self, omega: f64) -> Complex {
        self.reed(omega).admittance()
    }

    /// Impedance the reed sees at a frequency, Pa·s/m³.
    #[must_use]
    pub fn impedance(&self, hz: f64) -> Complex {
        self.admittance(TAU * hz).inv()
    }

    /// Length from the reed to the open end, m.
    fn length(&self) -> f64 {
        self.neck.duct(self.vent_open).length() + self.body.duct.length() + MOUTHPIECE_LENGTH
    }

    /// The state at the reed.
    #[must_use]
    pub fn reed(&self, omega: f64) -> State {
        let inside = self.inside(omega, &self.entry(omega));
        self.mouthpiece.matrix(self.medium, omega).apply(&inside)
    }

    /// Admittance over a range of frequencies: by a polynomial where it serves, else by the tube itself.
    fn over(&self, from_hz: f64, to_hz: f64) -> impl Fn(f64) -> Complex {
        let range = (TAU * from_hz, TAU * to_hz);
        let tube = |omega: f64| self.reed(omega);
        let sweep = Sweep::new(self.medium, self.length(), range, &tube);
        move |omega: f64| match &sweep {
            Some(sweep) if sweep.holds(omega) => sweep.state(omega).admittance(),
            _ => self.admittance(omega),
        }
    }

    /// Impedance at the reed at each frequency, Pa·s/m³; frequencies in rising order.
    #[must_use]
    pub fn spectrum(&self, frequencies_hz: &[f64]) -> Vec<Complex> {
        let (Some(from), Some(to)) = (frequencies_hz.first(), frequencies_hz.last()) else {
            return Vec::new();
        };
        let over = self.over(*from, *to);
        frequencies_hz.iter().map(|hz| over(TAU * hz).inv()).collect()
    }

    /// Its first so many peaks, looked for by the pitch of its first.
    #[must_use]
    pub fn peaks(&self, fundamental_hz: f64, most: usize) -> Vec<Peak> {
        let (from, to) = (0.45 * fundamental_hz, PEAKS_UP_TO * fundamental_hz);
        peaks(&self.over(from, to), from, to, most)
    }

    /// Its first peak between half and one and a half times a pitch.
    #[must_use]
    pub fn first_peak(&self, pitch_hz: f64) -> Option<Peak> {
        let (from, to) = (0.5 * pitch_hz, 1.5 * pitch_hz);
        peaks(&self.over(from, to), from, to, 1).into_iter().next()
    }

    /// The peak near a frequency with each of some volumes of mouthpiece (m³), Hz.
    #[must_use]
    pub fn peaks_with_volumes(&self, hz: f64, volumes: &[f64]) -> Vec<Option<f64>> {
        let range = (TAU * hz * 0.8, TAU * hz * 1.2);
        let tube = |omega: f64| self.entry(omega);
        let sweep = Sweep::new(self.medium, self.length(), range, &tube);
        let entry = |omega: f64| match &sweep {
            Some(sweep) if sweep.holds(omega) => sweep.state(omega),
            _ => tube(omega),
        };
        volumes
            .iter()
            .map(|&volume| {
                let mouthpiece = Mouthpiece { volume, ..self.mouthpiece };
                let admittance = |omega: f64| {
                    let inside = self.inside(omega, &entry(omega));
                    mouthpiece.matrix(self.medium, omega).apply(&inside).admittance()
                };
                peak_near(&admittance, hz, hz / 6.0).map(|peak| peak.frequency_hz)
            })
            .collect()
    }

    /// The peak nearest to a frequency, within a sixth of it.
    #[must_use]
    pub fn peak_near(&self, hz: f64) -> Option<Peak> {
        peak_near(&self.over(hz * 0.8, hz * 1.2), hz, hz / 6.0)
    }

    /// Pressure at a station of the neck (mm) over that at the cork end: where it vanishes, a vent moves nothing.
    #[must_use]
    pub fn pressure_at(&self, station_mm: f64, hz: f64) -> Complex {
        let omega = TAU * hz;
        let mut state = self.below(omega);
        let duct = self.neck.duct(self.vent_open);
        let wave = Wave::of(self.medium, omega);
        let mut behind = duct.length() * 1e3;
        let mut there = None;
        for piece in duct.pieces.iter().rev() {
            if behind <= station_mm + 1e-6 && there.is_none() {
                there = Some(state.pressure);
            }
            state = match piece {
                Piece::Segment(segment) => {
                    behind -= segment.length * 1e3;
                    segment.matrix_with(&wave, self.medium).apply(&state)
                }
                Piece::Hole(hole) => hole.before(self.medium, &wave, &state),
                Piece::Lump(lump) => lump.before(self.medium, &wave, &state),
            };
        }
        there.unwrap_or(state.pressure) / state.pressure
    }
}

/// Length of plain cone below a neck that gives a fingering its pitch, mm; none where no length does.
///
/// A cone's first resonance goes nearly as one over its length from the apex, so each step corrects that length in the ratio
/// of the pitches.
#[must_use]
pub fn cone_for(
    medium: &Medium,
    neck: &NeckBore,
    mouthpiece: Mouthpiece,
    (entry_mm, slope): (f64, f64),
    pitch_hz: f64,
) -> Option<f64> {
    let whole = 1e3 * medium.air.speed / (2.0 * pitch_hz);
    // Where the taper is slight the apex is far away, and the length is that of a cylinder's quarter wave, or between.
    let apex = (entry_mm / slope.max(1e-4)).min(0.6 * whole);
    let mut length = whole - apex;
    for _ in 0..60 {
        if length.is_nan() || length < 1.0 {
            return None;
        }
        let body = Body::cone(length, entry_mm, slope);
        let fingered = Fingered { medium, neck, body: &body, mouthpiece, vent_open: false };
        let found = fingered.first_peak(pitch_hz)?.frequency_hz;
        let off = found / pitch_hz - 1.0;
        if off.abs() < 1e-7 {
            return Some(length);
        }
        length += (length + apex) * off.clamp(-0.3, 0.3);
    }
    None
}
