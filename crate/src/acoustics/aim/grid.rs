//! The rows a bore is changed at: its own, and knots between which the change runs straight.

use crate::acoustics::least_squares::Limit;
use crate::acoustics::neck_on_horn::NeckBore;
use crate::acoustics::profile::{Profile, ProfileRow};
use crate::units::{deg_from_rad, rad_from_deg};

use super::asked::Makeable;

/// Knots are about so far apart, mm: half the shortest wave that matters would be 80.
const KNOTS_MM: f64 = 12.0;
/// A row of the old bore that is nearer to a knot is not kept beside it, mm.
const APART_MM: f64 = 1.0;
/// Stations at which the half-angle of the smooth bore is looked at, between two rows.
const LOOKED_AT: usize = 8;

/// Half-angle of a rise of diameter over a run, both in mm.
pub(super) fn half_angle_deg(rise: f64, run: f64) -> f64 {
    deg_from_rad(libm::atan(rise / (2.0 * run)))
}

/// A row, before it is changed.
#[derive(Clone, Copy, Debug)]
pub(super) struct GridRow {
    pub station: f64,
    pub diameter: f64,
    /// The knot before it, and the share the next one has in its change.
    knot: usize,
    share: f64,
}

/// Rows and knots of one neck.
#[derive(Clone, Debug)]
pub(super) struct Grid {
    /// Stations, ends included, mm.
    pub knots: Vec<f64>,
    pub rows: Vec<GridRow>,
    vent: GridRow,
    /// Narrowest that the bore may be at the vent, mm.
    least_at_vent: f64,
}

impl Grid {
    /// That of a neck whose vent needs a bore of so much diameter.
    pub fn of(neck: &NeckBore, least_at_vent: f64) -> Self {
        let (bore, length) = (&neck.neck.bore, neck.length_mm());
        let count = (length / KNOTS_MM).round().max(2.0) as usize;
        let knots: Vec<f64> = (0..=count).map(|k| length * k as f64 / count as f64).collect();
        let far = |station: &f64| knots.iter().all(|knot| (knot - station).abs() > APART_MM);
        let inside = |station: &f64| *station > 0.0 && *station < length;
        let mut stations = knots.clone();
        stations.extend(bore.breaks().into_iter().filter(inside).filter(far));
        stations.sort_by(f64::total_cmp);
        let row = |station: f64| {
            let before = knots.partition_point(|knot| *knot <= station).clamp(1, count) - 1;
            let share = (station - length * before as f64 / count as f64) * count as f64 / length;
            GridRow { station, diameter: 2.0 * bore.radius(station), knot: before, share }
        };
        let rows = stations.into_iter().map(row).collect();
        Self { rows, vent: row(neck.vent.station), least_at_vent, knots }
    }

    /// What share of the most change a row can take: the end at the tenon stays, and it with what leans on it.
    pub fn free_share(&self, row: &GridRow) -> f64 {
        if row.knot + 2 == self.knots.len() { 1.0 - row.share } else { 1.0 }
    }

    /// How much a row changes with the change of diameter at each knot.
    fn change(row: &GridRow, change: &[f64]) -> f64 {
        let at = |knot: usize| change.get(knot).copied().unwrap_or_default();
        at(row.knot) * (1.0 - row.share) + at(row.knot + 1) * row.share
    }

    /// The rows with a change at the knots.
    pub fn profile(&self, name: &str, change: &[f64]) -> Profile {
        let row = |row: &GridRow| ProfileRow {
            station_mm: row.station,
            diameter_mm: row.diameter + Self::change(row, change),
        };
        Profile { name: name.to_owned(), rows: self.rows.iter().map(row).collect() }
    }

    /// What can be made, as limits on the change at the knots: at every row and from each to the next. The half-angles are held
    /// by so much more as is said for each pair of rows, for what the smooth bore does between them.
    pub fn limits(&self, made: &Makeable, spare_deg: &[(f64, f64)]) -> Vec<Limit> {
        let mut limits = Vec::new();
        for k in 0..self.knots.len() {
            // The end at the tenon meets the horn where it met it before.
            let most = if k + 1 == self.knots.len() { 0.0 } else { made.most_change_mm };
            limits.push(Limit { terms: vec![(k, 1.0)], bound: most });
            limits.push(Limit { terms: vec![(k, -1.0)], bound: most });
        }
        // What stays needs no limit.
        let free = |row: &&GridRow| self.free_share(row) > 0.0;
        for row in self.rows.iter().filter(free) {
            let (least, most) = (made.least_diameter_mm, made.greatest_diameter_mm);
            limits.push(Limit { terms: terms(&[(row, 1.0)]), bound: most - row.diameter });
            limits.push(Limit { terms: terms(&[(row, -1.0)]), bound: row.diameter - least });
        }
        let room = self.vent.diameter - self.least_at_vent;
        limits.push(Limit { terms: terms(&[(&self.vent, -1.0)]), bound: room });
        for (pair, spare) in self.pairs().zip(spare_deg) {
            let (a, b) = pair;
            let (run, now) = (b.station - a.station, b.diameter - a.diameter);
            let rise = |deg: f64| 2.0 * run * libm::tan(rad_from_deg(deg));
            let most = rise(made.greatest_half_angle_deg - spare.1);
            let least = rise(made.least_half_angle_deg + spare.0);
            limits.push(Limit { terms: terms(&[(b, 1.0), (a, -1.0)]), bound: most - now });
            limits.push(Limit { terms: terms(&[(b, -1.0), (a, 1.0)]), bound: now - least });
        }
        limits
    }

    /// Each row with the next.
    pub fn pairs(&self) -> impl Iterator<Item = (&GridRow, &GridRow)> {
        self.rows.iter().zip(self.rows.iter().skip(1))
    }

    /// The flattest and the steepest that the smooth bore is from each row to the next, degrees.
    pub fn angles(&self, profile: &Profile) -> Vec<(f64, f64)> {
        let bore = profile.bore();
        let range = |(a, b): (&GridRow, &GridRow)| {
            let at = |k: usize| a.station + (b.station - a.station) * k as f64 / LOOKED_AT as f64;
            let angle = |k: usize| deg_from_rad(libm::atan(bore.radius_slope(at(k)).1));
            (0..=LOOKED_AT)
                .map(angle)
                .fold((f64::INFINITY, f64::NEG_INFINITY), |(least, most), angle| {
                    (least.min(angle), most.max(angle))
                })
        };
        self.pairs().map(range).collect()
    }

    /// Whether a change leaves the vent no more room than it needs.
    pub fn is_at_the_vent(&self, change: &[f64]) -> bool {
        self.vent.diameter + Self::change(&self.vent, change) - self.least_at_vent < 1e-3
    }
}

/// A sum of rows' changes, by knot.
fn terms(rows: &[(&GridRow, f64)]) -> Vec<(usize, f64)> {
    let mut sum: Vec<(usize, f64)> = Vec::new();
    for (row, sign) in rows {
        for (knot, share) in [(row.knot, 1.0 - row.share), (row.knot + 1, row.share)] {
            match sum.iter_mut().find(|(other, _)| *other == knot) {
                Some((_, value)) => *value += sign * share,
                None => sum.push((knot, sign * share)),
            }
        }
    }
    sum.retain(|(_, value)| *value != 0.0);
    sum
}
