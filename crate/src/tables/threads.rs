//! Screw threads for hinge and spring screws, and the drill each is tapped from.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::{Source, Status};
use crate::units::mm_from_inch;

/// Name of a thread, written as on the tap.
///
/// Metric coarse (ISO 261) and the unified sizes (ASME B1.1) that key work is cut with.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize, JsonSchema)]
#[cfg_attr(target_arch = "wasm32", derive(tsify::Tsify))]
pub enum Thread {
    /// M1.6, pitch 0.35 mm.
    #[serde(rename = "M1.6")]
    M1_6,
    /// M1.8, pitch 0.35 mm; second choice.
    #[serde(rename = "M1.8")]
    M1_8,
    /// M2, pitch 0.4 mm.
    #[serde(rename = "M2")]
    M2,
    /// M2.2, pitch 0.45 mm; second choice.
    #[serde(rename = "M2.2")]
    M2_2,
    /// M2.5, pitch 0.45 mm.
    #[serde(rename = "M2.5")]
    M2_5,
    /// M3, pitch 0.5 mm.
    #[serde(rename = "M3")]
    M3,
    /// M3.5, pitch 0.6 mm; second choice.
    #[serde(rename = "M3.5")]
    M3_5,
    /// M4, pitch 0.7 mm.
    #[serde(rename = "M4")]
    M4,
    /// 2-56, major diameter 0.086 in.
    #[serde(rename = "2-56")]
    No2x56,
    /// 3-48, major diameter 0.099 in.
    #[serde(rename = "3-48")]
    No3x48,
    /// 4-40, major diameter 0.112 in.
    #[serde(rename = "4-40")]
    No4x40,
}

/// One row of the thread table; millimetres.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ThreadRow {
    /// As written on the tap.
    pub name: &'static str,
    /// Outside diameter of the screw, nominal.
    pub major_diameter_mm: f64,
    /// Advance per turn.
    pub pitch_mm: f64,
    /// Diameter of the drill the hole is tapped from.
    pub tap_drill_mm: f64,
    /// Where major diameter and pitch come from.
    pub source: Source,
    /// Where the drill comes from.
    pub drill_source: Source,
}

const ISO: Source = Source {
    title: "ISO 261, as in a tap maker's guide, \"ISO metric thread nominal dimensions\"",
    status: Status::Read,
};
const ISO_DRILL: Source =
    Source { title: "ISO 2306, as in \"Thread pitch chart - M1.6 to M64\"", status: Status::Read };
const ISO_DRILL_SECOND_CHOICE: Source = Source { title: "ISO 2306", status: Status::Memory };
const UNIFIED: Source = Source {
    title: "ASME B1.1, as in Machinery's Handbook, 31st ed., p. 2155, Table 2",
    status: Status::Read,
};
const UNIFIED_4_40: Source = Source { title: "ASME B1.1", status: Status::Memory };
const UNIFIED_DRILL: Source = Source { title: "\"Drill & Tap Chart\"", status: Status::Read };

impl Thread {
    /// The row of the table.
    #[must_use]
    pub fn row(self) -> ThreadRow {
        let metric = |name, major_diameter_mm, pitch_mm, tap_drill_mm, drill_source| ThreadRow {
            name,
            major_diameter_mm,
            pitch_mm,
            tap_drill_mm,
            source: ISO,
            drill_source,
        };
        let unified = |name, major_inch, turns_per_inch, drill_inch, source| ThreadRow {
            name,
            major_diameter_mm: mm_from_inch(major_inch),
            pitch_mm: mm_from_inch(1.0 / turns_per_inch),
            tap_drill_mm: mm_from_inch(drill_inch),
            source,
            drill_source: UNIFIED_DRILL,
        };
        match self {
            Self::M1_6 => metric("M1.6", 1.6, 0.35, 1.25, ISO_DRILL),
            Self::M1_8 => metric("M1.8", 1.8, 0.35, 1.45, ISO_DRILL_SECOND_CHOICE),
            Self::M2 => metric("M2", 2.0, 0.40, 1.6, ISO_DRILL),
            Self::M2_2 => metric("M2.2", 2.2, 0.45, 1.75, ISO_DRILL_SECOND_CHOICE),
            Self::M2_5 => metric("M2.5", 2.5, 0.45, 2.05, ISO_DRILL),
            Self::M3 => metric("M3", 3.0, 0.50, 2.5, ISO_DRILL),
            Self::M3_5 => metric("M3.5", 3.5, 0.60, 2.9, ISO_DRILL_SECOND_CHOICE),
            Self::M4 => metric("M4", 4.0, 0.70, 3.3, ISO_DRILL),
            Self::No2x56 => unified("2-56", 0.0860, 56.0, 0.0700, UNIFIED),
            Self::No3x48 => unified("3-48", 0.0990, 48.0, 0.0785, UNIFIED),
            Self::No4x40 => unified("4-40", 0.1120, 40.0, 0.0890, UNIFIED_4_40),
        }
    }

    /// As written on the tap.
    #[must_use]
    pub fn name(self) -> &'static str {
        self.row().name
    }

    /// Outside diameter of the screw, nominal.
    #[must_use]
    pub fn major_diameter_mm(self) -> f64 {
        self.row().major_diameter_mm
    }

    /// Advance per turn.
    #[must_use]
    pub fn pitch_mm(self) -> f64 {
        self.row().pitch_mm
    }

    /// Diameter of the drill the hole is tapped from.
    #[must_use]
    pub fn tap_drill_mm(self) -> f64 {
        self.row().tap_drill_mm
    }

    /// Where major diameter and pitch come from, to be shown beside them.
    #[must_use]
    pub fn source(self) -> Source {
        self.row().source
    }

    /// Where the drill comes from, to be shown beside it.
    #[must_use]
    pub fn drill_source(self) -> Source {
        self.row().drill_source
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Every thread a job may name, in the order of the table.
    const ALL: [Thread; 11] = [
        Thread::M1_6,
        Thread::M1_8,
        Thread::M2,
        Thread::M2_2,
        Thread::M2_5,
        Thread::M3,
        Thread::M3_5,
        Thread::M4,
        Thread::No2x56,
        Thread::No3x48,
        Thread::No4x40,
    ];

    /// Share of full thread depth left by a drill, percent: `(D - drill) * N / 0.01299` in inches
    /// (Machinery's Handbook, 31st ed.).
    fn thread_depth_percent(row: &ThreadRow) -> f64 {
        (row.major_diameter_mm - row.tap_drill_mm) / row.pitch_mm / 0.01299
    }

    /// 69 and 76 % are printed on p. 2155, Table 2 (read); the third figure is the formula worked by another program.
    #[test]
    fn unified_drills_leave_the_printed_share_of_thread() {
        assert_eq!(thread_depth_percent(&Thread::No2x56.row()).round(), 69.0);
        assert_eq!(thread_depth_percent(&Thread::No3x48.row()).round(), 76.0);
        assert!((thread_depth_percent(&Thread::No4x40.row()) - 70.82).abs() < 0.005);
    }

    /// Minor diameter of the nut, D - 1.0825 P, as printed in the tap guide (read): the drill lies above it and below
    /// the pitch diameter D - 0.6495 P.
    #[test]
    fn metric_rows_agree_with_the_printed_minor_diameters() {
        let printed = [1.221, 1.421, 1.567, 1.713, 2.013, 2.459, 2.850, 3.242];
        for (thread, minor) in ALL.into_iter().zip(printed) {
            let row = thread.row();
            assert!(
                (row.major_diameter_mm - 1.0825 * row.pitch_mm - minor).abs() < 1.1e-3,
                "{}",
                row.name
            );
            assert!(row.tap_drill_mm > minor, "{}", row.name);
            assert!(
                row.tap_drill_mm < row.major_diameter_mm - 0.6495 * row.pitch_mm,
                "{}",
                row.name
            );
        }
    }

    #[test]
    fn the_name_in_a_job_file_is_the_name_on_the_tap() {
        for thread in ALL {
            assert_eq!(serde_json::to_value(thread).ok(), Some(thread.name().into()));
        }
    }
}
