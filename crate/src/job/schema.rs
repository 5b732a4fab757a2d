//! The schema of the job file, made from the parameters themselves.

use std::sync::OnceLock;

use schemars::generate::SchemaSettings;
use schemars::transform::RecursiveTransform;
use schemars::{JsonSchema, Schema};
use serde_json::Value;

use super::parameters::Job;

/// Key under which the schema names the unit of a number: `mm`, `deg`, `gauge`, `N`, `°C`, or empty.
pub const UNIT_KEY: &str = "x-unit";
/// Key under which the schema warns of one of the values a field may take.
pub const WARNING_KEY: &str = "x-warning";

/// JSON Schema (draft 2020-12) of the job file.
///
/// Every field carries its sentence as `description`, its range, and under [`UNIT_KEY`] the unit its name ends in, so
/// that a form can be drawn from the schema alone.
#[must_use]
pub fn job_schema() -> &'static Value {
    // Made once: every job that is read asks for it.
    static SCHEMA: OnceLock<Value> = OnceLock::new();
    SCHEMA.get_or_init(schema_of::<Job>)
}

/// JSON Schema of another group of fields, made in the same way.
#[must_use]
pub fn schema_of<T: JsonSchema>() -> Value {
    SchemaSettings::draft2020_12()
        .with_transform(RecursiveTransform(name_units))
        .into_generator()
        .into_root_schema_for::<T>()
        .into()
}

/// Unit in which the field of this name is given, as its suffix says; empty if it has none.
#[must_use]
pub fn unit_of(name: &str) -> &'static str {
    match name.rsplit('_').next() {
        Some("mm") => "mm",
        Some("deg") => "deg",
        Some("gauge") => "gauge",
        Some("n") => "N",
        Some("c") => "°C",
        _ => "",
    }
}

/// Puts [`UNIT_KEY`] beside every property that is a number.
fn name_units(schema: &mut Schema) {
    let Some(properties) = schema.get_mut("properties").and_then(Value::as_object_mut) else {
        return;
    };
    for (name, property) in properties {
        let Some(property) = property.as_object_mut() else {
            continue;
        };
        if property.get("type").is_some_and(|kind| kind == "number" || kind == "integer") {
            property.insert(UNIT_KEY.into(), unit_of(name).into());
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn every_property(schema: &Value, see: &mut impl FnMut(&str, &Value)) {
        match schema {
            Value::Object(map) => {
                for (name, property) in
                    map.get("properties").and_then(Value::as_object).into_iter().flatten()
                {
                    see(name, property);
                }
                map.values().for_each(|inner| every_property(inner, see));
            }
            Value::Array(list) => list.iter().for_each(|inner| every_property(inner, see)),
            _ => {}
        }
    }

    #[test]
    fn every_field_is_explained_and_every_number_has_a_range_and_a_unit() {
        let mut numbers = 0;
        every_property(job_schema(), &mut |name, property| {
            assert!(
                property["description"].as_str().is_some_and(|text| text.ends_with('.')),
                "{name} has no sentence"
            );
            if property["type"] == "number" || property["type"] == "integer" {
                numbers += 1;
                assert!(
                    property["minimum"].as_f64() < property["maximum"].as_f64(),
                    "{name} has no range"
                );
                assert_ne!(property[UNIT_KEY].as_str().unwrap_or(""), "", "{name} has no unit");
            }
        });
        assert!(numbers > 90, "only {numbers} numbers seen");
    }

    #[test]
    fn units_are_read_off_the_name() {
        assert_eq!(
            [unit_of("station_mm"), unit_of("bend_deg"), unit_of("wall_gauge"), unit_of("number")],
            ["mm", "deg", "gauge", ""]
        );
    }
}
