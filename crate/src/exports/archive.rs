//! Several files in one zip archive.
//!
//! The same files give the same bytes: each carries the first moment the format can tell (1980-01-01) instead of a
//! clock's, and the same permissions on every machine.

use std::io::{Cursor, Write};

use thiserror::Error;
use zip::write::SimpleFileOptions;
use zip::{CompressionMethod, DateTime, ZipWriter};

/// Why an archive could not be written: two files of one name, or more than the format holds.
#[derive(Debug, Error)]
#[error("the archive cannot hold {name}: {why}")]
pub struct ArchiveError {
    name: String,
    why: String,
}

/// An archive of files in the order given, each under its name with `/` between folders.
///
/// # Errors
///
/// Two files of the same name, or more than the format holds.
pub fn archive<'a>(
    files: impl IntoIterator<Item = (&'a str, &'a [u8])>,
) -> Result<Vec<u8>, ArchiveError> {
    let options = SimpleFileOptions::default()
        .compression_method(CompressionMethod::Deflated)
        .last_modified_time(DateTime::default())
        .unix_permissions(0o644);
    let mut zip = ZipWriter::new(Cursor::new(Vec::new()));
    let mut names: Vec<&str> = Vec::new();
    for (name, bytes) in files {
        let refused = |why: String| ArchiveError { name: name.to_string(), why };
        if names.contains(&name) {
            return Err(refused("there is one of this name in it".into()));
        }
        names.push(name);
        zip.start_file(name, options).map_err(|error| refused(error.to_string()))?;
        zip.write_all(bytes).map_err(|error| refused(error.to_string()))?;
    }
    let whole = |error: zip::result::ZipError| ArchiveError {
        name: "its own list".into(),
        why: error.to_string(),
    };
    Ok(zip.finish().map_err(whole)?.into_inner())
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Layout by the format's published description: a local header of 30 bytes, its time at offset 10 and its date at
    /// 12, counted from 1980; the end of the central directory 22 bytes before the end.
    #[test]
    fn the_layout_is_the_published_one_and_holds_no_clock() {
        let text = b"one two one two one two".repeat(20);
        let bytes = archive([("a/one.txt", &text[..]), ("two.txt", b"")]).unwrap();
        assert_eq!(&bytes[..4], b"PK\x03\x04");
        assert_eq!(&bytes[10..14], [0, 0, 0b0010_0001, 0], "1980-01-01, midnight");
        assert_eq!(&bytes[30..39], b"a/one.txt");
        assert!(bytes.len() < text.len(), "compressed");
        let end = &bytes[bytes.len() - 22..];
        assert_eq!(&end[..4], b"PK\x05\x06");
        assert_eq!(&end[10..12], [2, 0], "two files");
        assert_eq!(bytes, archive([("a/one.txt", &text[..]), ("two.txt", b"")]).unwrap());
    }

    #[test]
    fn two_files_of_one_name_are_refused() {
        let error = archive([("a", &b"1"[..]), ("a", b"2")]).unwrap_err();
        assert_eq!(error.to_string(), "the archive cannot hold a: there is one of this name in it");
    }
}
