//! 3MF (core specification 1.4): triangles of several parts with their names, colours and unit.
//!
//! A package of three parts in a zip archive. Every part is an object of its own, modelled where it stands on the neck;
//! the unit is said in the file, so that no reader has to guess it.

use std::fmt::Write;

use glam::DVec3;
use thiserror::Error;

use super::archive::{ArchiveError, archive};

/// One part to write.
#[derive(Debug)]
pub struct ThreeMfPart<'a> {
    /// Short name, for the part number.
    pub id: &'a str,
    pub name: &'a str,
    /// What its colour is called.
    pub metal: &'a str,
    pub colour_srgb: [u8; 3],
    /// mm
    pub positions: Vec<DVec3>,
    /// Corners counter-clockwise seen from outside.
    pub triangles: Vec<[u32; 3]>,
}

/// Why a file could not be written.
#[derive(Debug, Error)]
pub enum ThreeMfError {
    #[error("part {part}: point {index} has a coordinate that is not finite")]
    NotFinite { part: String, index: usize },
    #[error("part {part}: its triangles enclose {volume_mm3} mm3, so they do not face outward")]
    NotOutward { part: String, volume_mm3: f64 },
    #[error("part {part}: a triangle names a point that is not there")]
    NoSuchPoint { part: String },
    #[error("there is no part to write")]
    NoParts,
    #[error(transparent)]
    Archive(#[from] ArchiveError),
}

const CONTENT_TYPES: &str = concat!(
    "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n",
    "<Types xmlns=\"http://schemas.openxmlformats.org/package/2006/content-types\">",
    "<Default Extension=\"rels\" ContentType=\"application/vnd.openxmlformats-package.relationships+xml\"/>",
    "<Default Extension=\"model\" ContentType=\"application/vnd.ms-package.3dmanufacturing-3dmodel+xml\"/>",
    "</Types>\n",
);

const RELATIONS: &str = concat!(
    "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n",
    "<Relationships xmlns=\"http://schemas.openxmlformats.org/package/2006/relationships\">",
    "<Relationship Target=\"/3D/3dmodel.model\" Id=\"model\" ",
    "Type=\"http://schemas.microsoft.com/3dmanufacturing/2013/01/3dmodel\"/>",
    "</Relationships>\n",
);

/// Writes parts where they stand on the neck.
///
/// # Errors
///
/// No part, a coordinate that is not finite, a triangle that names no point, triangles that face inward: some readers
/// take such a mesh without a word.
pub fn write_three_mf(title: &str, parts: &[ThreeMfPart<'_>]) -> Result<Vec<u8>, ThreeMfError> {
    if parts.is_empty() {
        return Err(ThreeMfError::NoParts);
    }
    let mut model = String::from(concat!(
        "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n",
        "<model unit=\"millimeter\" xml:lang=\"en\" ",
        "xmlns=\"http://schemas.microsoft.com/3dmanufacturing/core/2015/02\">\n",
    ));
    // Writing to a string cannot fail.
    let _ = writeln!(model, "<metadata name=\"Title\">{}</metadata>", escaped(title));
    let _ = writeln!(
        model,
        "<metadata name=\"Application\">neckwright {}</metadata>",
        env!("CARGO_PKG_VERSION")
    );
    let mut metals: Vec<(&str, [u8; 3])> = Vec::new();
    for part in parts {
        if !metals.contains(&(part.metal, part.colour_srgb)) {
            metals.push((part.metal, part.colour_srgb));
        }
    }
    model.push_str("<resources>\n<basematerials id=\"1\">\n");
    for (metal, [r, g, b]) in &metals {
        let name = escaped(metal);
        let _ = writeln!(model, "<base name=\"{name}\" displaycolor=\"#{r:02X}{g:02X}{b:02X}\"/>");
    }
    model.push_str("</basematerials>\n");
    for (index, part) in parts.iter().enumerate() {
        let colour = metals.iter().position(|metal| *metal == (part.metal, part.colour_srgb));
        let _ = writeln!(
            model,
            "<object id=\"{}\" type=\"model\" name=\"{}\" partnumber=\"{}\" pid=\"1\" pindex=\"{}\"><mesh>",
            index + 2,
            escaped(part.name),
            escaped(part.id),
            colour.unwrap_or_default(),
        );
        push_mesh(&mut model, part)?;
        model.push_str("</mesh></object>\n");
    }
    model.push_str("</resources>\n<build>\n");
    for index in 0..parts.len() {
        let _ = writeln!(model, "<item objectid=\"{}\"/>", index + 2);
    }
    model.push_str("</build>\n</model>\n");
    Ok(archive([
        ("[Content_Types].xml", CONTENT_TYPES.as_bytes()),
        ("_rels/.rels", RELATIONS.as_bytes()),
        ("3D/3dmodel.model", model.as_bytes()),
    ])?)
}

fn push_mesh(model: &mut String, part: &ThreeMfPart<'_>) -> Result<(), ThreeMfError> {
    let name = || part.id.to_string();
    if let Some(index) = part.positions.iter().position(|point| !point.is_finite()) {
        return Err(ThreeMfError::NotFinite { part: name(), index });
    }
    let mut volume = 0.0;
    for triangle in &part.triangles {
        let [a, b, c] = triangle.map(|index| part.positions.get(index as usize).copied());
        let (Some(a), Some(b), Some(c)) = (a, b, c) else {
            return Err(ThreeMfError::NoSuchPoint { part: name() });
        };
        volume += a.dot(b.cross(c)) / 6.0;
    }
    if volume.is_nan() || volume <= 0.0 {
        return Err(ThreeMfError::NotOutward { part: name(), volume_mm3: volume });
    }
    model.push_str("<vertices>\n");
    for point in &part.positions {
        // To a millionth of a millimetre. Rust prints no exponent, and `30` where the format wants no `30.`.
        let [x, y, z] = point.to_array().map(|mm| (mm * 1e6).round() / 1e6 + 0.0);
        let _ = writeln!(model, "<vertex x=\"{x}\" y=\"{y}\" z=\"{z}\"/>");
    }
    model.push_str("</vertices>\n<triangles>\n");
    for [a, b, c] in &part.triangles {
        let _ = writeln!(model, "<triangle v1=\"{a}\" v2=\"{b}\" v3=\"{c}\"/>");
    }
    model.push_str("</triangles>\n");
    Ok(())
}

/// Text as XML takes it. Characters that XML does not know at all become spaces.
fn escaped(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for character in text.chars() {
        match character {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            '\u{0}'..='\u{1F}' | '\u{FFFE}' | '\u{FFFF}' => out.push(' '),
            other => out.push(other),
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    fn corner<'a>() -> ThreeMfPart<'a> {
        ThreeMfPart {
            id: "badge",
            name: "badge \"A&B\"",
            metal: "brass",
            colour_srgb: [0xD9, 0xB6, 0x62],
            positions: vec![DVec3::ZERO, DVec3::X * 30.0, DVec3::Y, DVec3::new(0.0, -0.0, 1e-5)],
            triangles: vec![[0, 2, 1], [0, 1, 3], [0, 3, 2], [1, 2, 3]],
        }
    }

    #[test]
    fn numbers_and_names_are_as_the_format_wants_them() {
        let mut text = String::new();
        push_mesh(&mut text, &corner()).unwrap();
        assert!(text.contains("<vertex x=\"30\" y=\"0\" z=\"0\"/>"), "{text}");
        assert!(text.contains("<vertex x=\"0\" y=\"0\" z=\"0.00001\"/>"), "{text}");
        assert_eq!(escaped("a<b>&\"\u{1}\""), "a&lt;b&gt;&amp;&quot; &quot;");
        assert!(write_three_mf("Neck <1>", &[corner(), corner()]).is_ok());
    }

    #[test]
    fn what_cannot_be_written_is_refused() {
        assert!(matches!(write_three_mf("Neck", &[]), Err(ThreeMfError::NoParts)));
        let refused = |part| write_three_mf("Neck", &[part]).unwrap_err().to_string();
        let mut part = corner();
        part.triangles.iter_mut().for_each(|triangle| triangle.swap(1, 2));
        assert!(refused(part).contains("do not face outward"));
        let mut part = corner();
        part.positions[1].z = f64::NAN;
        assert_eq!(refused(part), "part badge: point 1 has a coordinate that is not finite");
        let mut part = corner();
        part.triangles[0][1] = 4;
        assert_eq!(refused(part), "part badge: a triangle names a point that is not there");
    }
}
