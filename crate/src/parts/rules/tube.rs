//! Rules of the tube: its centreline, its bends, its bore.

use crate::job::Violation;
use crate::job::parameters::{Bore, Centreline, Piece};
use crate::units::rad_from_deg;

use super::TUBE;
use super::book::Book;

/// Greatest share of the bend's radius that the tube may fill: nearer its middle the inside of the bend would wrinkle
/// into itself (common practice, no source).
const FULLEST_BEND: f64 = 0.8;
/// Longest neck, mm; a job's stations go no further (common practice, no source).
const LONGEST: f64 = 600.0;
/// Narrowest bore a neck is modelled with, as a radius, mm (common practice, no source).
const LEAST_BORE_RADIUS: f64 = 2.5;
/// Steepest wall of a measured bore against the centreline, as rise over run: about 14 degrees (common practice, no
/// source).
const STEEPEST_BORE: f64 = 0.25;

impl Book<'_> {
    pub(super) fn centreline(&mut self) {
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

    pub(super) fn bore(&mut self) {
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
}
