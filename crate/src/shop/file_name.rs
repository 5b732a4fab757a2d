//! Names that every system takes for a file's.

use crate::job::parameters::Order;

/// Longest name of a file, characters: with a folder and an ending it still fits where 255 bytes are the most.
const LONGEST: usize = 80;

/// Names some systems keep for devices, whatever ending follows.
const DEVICES: [&str; 4] = ["CON", "PRN", "AUX", "NUL"];

/// Why a text is no name of a file; none if it is one.
#[must_use]
pub fn file_name_fault(name: &str) -> Option<String> {
    let stem = name.split('.').next().unwrap_or_default().to_ascii_uppercase();
    let numbered = |device: &str| {
        stem.strip_prefix(device).is_some_and(|rest| {
            rest.len() == 1 && rest.chars().all(|digit| matches!(digit, '1'..='9'))
        })
    };
    let forbidden = |c: char| {
        c.is_control() || matches!(c, '/' | '\\' | ':' | '*' | '?' | '"' | '<' | '>' | '|')
    };
    if name.is_empty() {
        Some("It is empty.".into())
    } else if let Some(bad) = name.chars().find(|&c| forbidden(c)) {
        Some(format!("No file name may hold {bad:?}."))
    } else if name.starts_with([' ', '.']) || name.ends_with([' ', '.']) {
        Some("A file name neither begins nor ends with a space or a point.".into())
    } else if DEVICES.contains(&stem.as_str()) || numbered("COM") || numbered("LPT") {
        Some("Some systems keep this name for a device.".into())
    } else if name.chars().count() > LONGEST {
        Some(format!("A file name of more than {LONGEST} characters is too long."))
    } else {
        None
    }
}

/// What the names of an order's files begin with: order number and serial number.
#[must_use]
pub fn file_stem(order: &Order) -> String {
    let said: Vec<&str> =
        [order.number.trim(), order.serial.trim()].into_iter().filter(|s| !s.is_empty()).collect();
    said.join("_")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_of_files_are_told_from_others() {
        for good in ["DEMO-001_A-0001", "Werk 7, zweite Wahl", "a.b", "COMB", "COM10", "Ø 12"] {
            assert_eq!(file_name_fault(good), None, "{good}");
        }
        let long = "x".repeat(LONGEST + 1);
        for bad in [
            "", ".", "..", "a/b", "a\\b", "a:b", "a\nb", "a?", " a", "a ", "a.", "nul", "Com1.x",
            &long,
        ] {
            assert!(file_name_fault(bad).is_some(), "{bad}");
        }
    }
}
