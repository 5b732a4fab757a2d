//! The rooms follow the data: a module of the crate uses only rooms listed above its own.

use std::fs;
use std::path::{Path, PathBuf};

/// The rooms in the order of the data.
const ROOMS: [&str; 13] = [
    "units",
    "tables",
    "job",
    "geometry",
    "parts",
    "solids",
    "checks",
    "exports",
    "acoustics",
    "model",
    "shop",
    "blanks",
    "card",
];

#[test]
fn no_room_uses_one_below_it() {
    let source = Path::new(env!("CARGO_MANIFEST_DIR")).join("crate/src");
    let mut files = Vec::new();
    collect(&source, &mut files);
    let mut upward = Vec::new();
    let mut looked_at = 0;
    for file in &files {
        let Ok(inside) = file.strip_prefix(&source) else { continue };
        let first = inside.components().next().map(|part| part.as_os_str().to_string_lossy());
        let room = first.as_deref().unwrap_or_default().trim_end_matches(".rs").to_string();
        // The boundary stands below every room, and the crate's root is only a map.
        let Some(own) = ROOMS.iter().position(|name| *name == room) else { continue };
        let text = fs::read_to_string(file).expect("a source file");
        for used in from_root(&text, depth(inside)) {
            let name: String =
                used.chars().take_while(|c| c.is_alphanumeric() || *c == '_').collect();
            // Grouped imports from the root would slip through.
            assert!(!used.starts_with('{'), "{}: name the room in each import", inside.display());
            if let Some(place) = ROOMS.iter().position(|other| *other == name) {
                looked_at += 1;
                if place > own {
                    upward.push(format!("{} uses {name}", inside.display()));
                }
            }
        }
    }
    assert!(looked_at > 50, "the test read the sources");
    assert!(upward.is_empty(), "{upward:#?}");
}

/// How many steps up from a file's module the crate's root is.
fn depth(file: &Path) -> usize {
    file.components().count() - usize::from(file.ends_with("mod.rs"))
}

/// What follows wherever a text names something from the crate's root: after `crate::`, or after enough of `super::` to
/// come up there.
fn from_root(text: &str, depth: usize) -> Vec<&str> {
    let mut found: Vec<&str> = text.split("crate::").skip(1).collect();
    let mut rest = text;
    while let Some(place) = rest.find("super::") {
        rest = &rest[place..];
        let mut steps = 0;
        while let Some(further) = rest.strip_prefix("super::") {
            rest = further;
            steps += 1;
        }
        if steps >= depth {
            found.push(rest);
        }
    }
    found
}

#[test]
fn steps_up_to_the_root_are_seen() {
    let two = Path::new("solids/rim.rs");
    assert_eq!(from_root("use super::swept::rim;", depth(two)), [""; 0]);
    assert_eq!(from_root("use super::super::exports::x;", depth(two)), ["exports::x;"]);
    assert_eq!(from_root("use crate::model;", depth(two)), ["model;"]);
    assert_eq!(from_root("super::model::x", depth(Path::new("job/mod.rs"))), ["model::x"]);
    assert_eq!(from_root("super::model::x", depth(Path::new("units.rs"))), ["model::x"]);
}

#[test]
fn every_room_of_the_list_exists() {
    let source = Path::new(env!("CARGO_MANIFEST_DIR")).join("crate/src");
    for room in ROOMS {
        let there = source.join(room).is_dir() || source.join(format!("{room}.rs")).is_file();
        assert!(there, "{room}");
    }
}

fn collect(folder: &Path, files: &mut Vec<PathBuf>) {
    for entry in fs::read_dir(folder).expect("a source folder").flatten() {
        let path = entry.path();
        if path.is_dir() {
            collect(&path, files);
        } else if path.extension().is_some_and(|ending| ending == "rs") {
            files.push(path);
        }
    }
}
