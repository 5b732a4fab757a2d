//! The summary of the parts: `summary.json`.

use serde::Serialize;
use thiserror::Error;

use crate::tables::metals::Metal;

/// Name and version of the format.
pub const FORMAT: &str = "neckwright-summary/1";

/// Every part with its measures.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(target_arch = "wasm32", derive(tsify::Tsify))]
pub struct Summary {
    format: &'static str,
    parts: Vec<PartSummary>,
}

/// Measures of one part, from integrals over its exact faces, not from triangles.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(target_arch = "wasm32", derive(tsify::Tsify))]
pub struct PartSummary {
    pub id: String,
    pub name: String,
    /// Cork and felt too, which a job cannot ask for.
    #[cfg_attr(target_arch = "wasm32", tsify(type = "Metal | \"cork\" | \"felt\""))]
    pub metal: Metal,
    pub made_by: String,
    pub moves_with_key: bool,
    pub volume_mm3: f64,
    pub area_mm2: f64,
    pub mass_g: f64,
    /// Centre of mass, in the frame of the neck.
    pub centroid_mm: [f64; 3],
    /// Least and greatest corner, in the frame of the neck.
    pub bbox_mm: [[f64; 3]; 2],
}

/// A measure that is no number: JSON has no way to say it.
#[derive(Clone, Debug, PartialEq, Error)]
#[error("part {part}: {field} is not a finite number")]
pub struct SummaryError {
    pub part: String,
    pub field: &'static str,
}

impl Summary {
    /// Rounds every measure to 1e-7 of its unit.
    ///
    /// # Errors
    ///
    /// A measure that is not a finite number.
    pub fn new(parts: Vec<PartSummary>) -> Result<Self, SummaryError> {
        let parts = parts.into_iter().map(PartSummary::rounded).collect::<Result<_, _>>()?;
        Ok(Self { format: FORMAT, parts })
    }

    /// The text of `summary.json`.
    ///
    /// # Errors
    ///
    /// None in practice: the writer fails only on what this structure cannot hold.
    pub fn to_json(&self) -> Result<String, serde_json::Error> {
        serde_json::to_string_pretty(self).map(|text| text + "\n")
    }
}

impl PartSummary {
    fn rounded(self) -> Result<Self, SummaryError> {
        let check = |field, value: f64| {
            if value.is_finite() {
                // Adding zero turns -0 into 0.
                Ok((value * 1e7).round() / 1e7 + 0.0)
            } else {
                Err(SummaryError { part: self.id.clone(), field })
            }
        };
        let triple =
            |field, [x, y, z]: [f64; 3]| Ok([check(field, x)?, check(field, y)?, check(field, z)?]);
        Ok(Self {
            volume_mm3: check("volume_mm3", self.volume_mm3)?,
            area_mm2: check("area_mm2", self.area_mm2)?,
            mass_g: check("mass_g", self.mass_g)?,
            centroid_mm: triple("centroid_mm", self.centroid_mm)?,
            bbox_mm: [triple("bbox_mm", self.bbox_mm[0])?, triple("bbox_mm", self.bbox_mm[1])?],
            ..self
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn brace(volume_mm3: f64) -> PartSummary {
        PartSummary {
            id: "brace".into(),
            name: "Brace".into(),
            metal: Metal::C26000,
            made_by: "cut strip, formed".into(),
            moves_with_key: false,
            volume_mm3,
            area_mm2: 1_000.123_456_78,
            mass_g: 4.1,
            centroid_mm: [-0.0, 1.0, 2.0],
            bbox_mm: [[0.0, -3.0, 1.0], [50.0, 3.0, 9.0]],
        }
    }

    #[test]
    fn fields_stand_in_the_order_of_the_contract() {
        let text = Summary::new(vec![brace(480.0)]).unwrap().to_json().unwrap();
        let keys: Vec<&str> = text
            .lines()
            .filter_map(|line| line.trim().strip_prefix('"')?.split('"').next())
            .collect();
        assert_eq!(
            keys,
            [
                "format",
                "parts",
                "id",
                "name",
                "metal",
                "made_by",
                "moves_with_key",
                "volume_mm3",
                "area_mm2",
                "mass_g",
                "centroid_mm",
                "bbox_mm",
            ]
        );
        assert!(text.contains("\"neckwright-summary/1\"") && text.contains("\"C26000\""));
        assert!(text.contains("1000.1234568") && !text.contains("-0.0"), "{text}");
    }

    #[test]
    fn a_measure_that_is_no_number_is_refused() {
        let error = Summary::new(vec![brace(f64::NAN)]).unwrap_err();
        assert_eq!(error.to_string(), "part brace: volume_mm3 is not a finite number");
    }
}
