//! What each thing is measured with as a rule, and how well that tells it.

/// A means of measuring.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Means {
    /// How far what it tells may be off, in the unit of the value.
    pub off: f64,
    pub source: &'static str,
}

const MICROMETER: Means =
    Means { off: 0.005, source: "micrometer or gauge: to 0.005 mm (common practice, no source)" };
const CALLIPER: Means =
    Means { off: 0.02, source: "calliper: to 0.02 mm (common practice, no source)" };
const DEPTH_ROD: Means = Means {
    off: 0.05,
    source: "calliper across edges, or its depth rod: to 0.05 mm (common practice, no source)",
};
const RULE: Means = Means {
    off: 0.5,
    source: "rule or paper strip laid along the tube: to 0.5 mm (common practice, no source)",
};
const TEMPLATE: Means =
    Means { off: 1.0, source: "template held to the bend: to 1 mm (common practice, no source)" };
const PROTRACTOR: Means =
    Means { off: 0.5, source: "protractor: to half a degree (common practice, no source)" };
const SPRING_SCALE: Means =
    Means { off: 0.1, source: "spring scale: to 0.1 N (common practice, no source)" };
const THERMOMETER: Means =
    Means { off: 5.0, source: "thermocouple: to 5 K (common practice, no source)" };
pub const SCALE: Means =
    Means { off: 0.1, source: "letter scale: to 0.1 g (common practice, no source)" };

/// What a field of the job is measured with.
#[must_use]
pub fn means(path: &str) -> Means {
    let name = path.rsplit('.').next().unwrap_or(path);
    let has = |part: &str| name.contains(part);
    if name.ends_with("_deg") {
        PROTRACTOR
    } else if name.ends_with("_n") {
        SPRING_SCALE
    } else if name.ends_with("_c") {
        THERMOMETER
    } else if matches!(path, "tenon.outer_diameter_mm" | "horn.receiver_bore_mm") {
        MICROMETER
    } else if has("station") || has("straight") || path.starts_with("placing.") {
        RULE
    } else if path.starts_with("centreline.") {
        TEMPLATE
    } else if has("diameter") || has("bore") || has("thickness") || has("wall") {
        CALLIPER
    } else {
        DEPTH_ROD
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Truth: common practice, as each means says of itself.
    #[test]
    fn each_kind_of_value_has_its_own_means() {
        for (path, off) in [
            ("tenon.outer_diameter_mm", 0.005),
            ("tenon.collar_diameter_mm", 0.02),
            ("bore.table[3].diameter_mm", 0.02),
            ("bore.table[3].station_mm", 0.5),
            ("tube.wall_mm", 0.02),
            ("vent.station_mm", 0.5),
            ("brace.to_station_mm", 0.5),
            ("vent.stand_mm", 0.05),
            ("key.lift_mm", 0.05),
            ("centreline.pieces[1].bend_deg", 0.5),
            ("centreline.pieces[1].radius_mm", 1.0),
            ("centreline.pieces[0].straight_mm", 0.5),
            ("rod_loop.bend_radius_mm", 0.05),
            ("spring.pad_force_n", 0.1),
        ] {
            assert_eq!(means(path).off, off, "{path}");
        }
    }
}
