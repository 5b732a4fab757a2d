//! Binary STL: the triangles of one part.
//!
//! Layout: 80 bytes of header, the count as u32, then for each triangle normal and corners as
//! twelve f32 and two zero bytes, all little-endian. The format knows no unit and no chord error,
//! so the header says both.

use glam::DVec3;
use thiserror::Error;

/// Bytes of the header.
const HEADER: usize = 80;

/// Why triangles could not be written.
#[derive(Clone, Debug, PartialEq, Error)]
pub enum StlError {
    #[error("part {part}: triangle {triangle} names point {index}, but there are only {count}")]
    NoSuchPoint { part: String, triangle: usize, index: u32, count: usize },
    #[error(
        "part {part}: point {index} has a coordinate that is not finite or too large for the format"
    )]
    NotFinite { part: String, index: usize },
    #[error("part {part}: {count} triangles are more than the format can count")]
    TooMany { part: String, count: usize },
}

/// Writes the triangles of a part; `positions` in mm, corners counter-clockwise seen from
/// outside. `chord_mm` is the greatest distance of a triangle from the true surface, for the header.
///
/// # Errors
///
/// A triangle that names no point, a coordinate that no f32 can hold, more triangles than a u32 counts.
pub fn write_stl(
    part: &str,
    chord_mm: f64,
    positions: &[DVec3],
    triangles: &[[u32; 3]],
) -> Result<Vec<u8>, StlError> {
    let count = u32::try_from(triangles.len())
        .map_err(|_| StlError::TooMany { part: part.to_owned(), count: triangles.len() })?;
    if let Some(index) = positions.iter().position(|point| !point.as_vec3().is_finite()) {
        return Err(StlError::NotFinite { part: part.to_owned(), index });
    }
    let mut bytes = Vec::with_capacity(HEADER + 4 + 50 * triangles.len());
    bytes.extend(header(part, chord_mm));
    bytes.extend(count.to_le_bytes());
    for (triangle, corners) in triangles.iter().enumerate() {
        let corner = |index: u32| {
            positions.get(index as usize).copied().ok_or_else(|| StlError::NoSuchPoint {
                part: part.to_owned(),
                triangle,
                index,
                count: positions.len(),
            })
        };
        let [a, b, c] = [corner(corners[0])?, corner(corners[1])?, corner(corners[2])?];
        // A sliver without area has no normal; zero is what the format then wants.
        let normal = (b - a).cross(c - a).normalize_or_zero();
        for vector in [normal, a, b, c] {
            for value in vector.as_vec3().to_array() {
                // Adding zero turns -0 into 0.
                bytes.extend((value + 0.0).to_le_bytes());
            }
        }
        bytes.extend([0, 0]);
    }
    Ok(bytes)
}

/// The header must not begin with "solid", which marks the text form to many readers, nor hold
/// "COLOR=", which some take for a colour.
fn header(part: &str, chord_mm: f64) -> [u8; HEADER] {
    let tail = format!(", unit mm, chord error {chord_mm} mm");
    let mut name: String =
        part.chars().map(|c| if c.is_ascii_graphic() && c != '=' { c } else { '_' }).collect();
    name.truncate(HEADER.saturating_sub("neck part ".len() + tail.len()));
    let text = format!("neck part {name}{tail}");
    let mut header = [b' '; HEADER];
    for (place, byte) in header.iter_mut().zip(text.bytes()) {
        *place = byte;
    }
    header
}

#[cfg(test)]
mod tests {
    use super::*;

    const CORNERS: [DVec3; 4] = [DVec3::ZERO, DVec3::X, DVec3::Y, DVec3::Z];

    #[test]
    fn layout_is_the_published_one() {
        let triangles = [[0, 2, 1], [0, 1, 3], [0, 3, 2], [1, 2, 3]];
        let bytes = write_stl("tube", 0.01, &CORNERS, &triangles).unwrap();
        assert_eq!(bytes.len(), 84 + 50 * triangles.len());
        assert_eq!(&bytes[80..84], &4u32.to_le_bytes());
        let text = String::from_utf8(bytes[..80].to_vec()).unwrap();
        assert_eq!(text.trim_end(), "neck part tube, unit mm, chord error 0.01 mm");
        let float = |at: usize| f32::from_le_bytes(bytes[at..at + 4].try_into().unwrap());
        // First triangle lies in z = 0 and looks down: normal, then its three corners.
        let floats: Vec<f32> = (0..12).map(|i| float(84 + 4 * i)).collect();
        assert_eq!(floats, [0., 0., -1., 0., 0., 0., 0., 1., 0., 1., 0., 0.]);
        assert_eq!(&bytes[132..134], &[0, 0]);
    }

    #[test]
    fn header_never_marks_another_format() {
        for name in [
            "solid",
            "COLOR=red",
            "a very long name of a part that would not fit into eighty bytes at all",
            "Ø",
        ] {
            let header = header(name, 0.05);
            assert!(header.is_ascii() && !header.starts_with(b"solid"));
            let text = String::from_utf8_lossy(&header);
            assert!(!text.contains("COLOR=") && text.contains("unit mm"), "{text}");
        }
    }

    #[test]
    fn bad_triangles_are_refused() {
        assert_eq!(
            write_stl("tube", 0.01, &CORNERS, &[[0, 1, 4]]),
            Err(StlError::NoSuchPoint { part: "tube".into(), triangle: 0, index: 4, count: 4 })
        );
        for bad in [f64::NAN, f64::INFINITY, 1e300] {
            let positions = [DVec3::ZERO, DVec3::X, DVec3::new(0.0, bad, 0.0)];
            assert_eq!(
                write_stl("tube", 0.01, &positions, &[[0, 1, 2]]),
                Err(StlError::NotFinite { part: "tube".into(), index: 2 })
            );
        }
    }
}
