//! Letters of single lines, to be engraved with one stroke each: they have no insides that could fall out.

use glam::DVec2;

use crate::geometry::contour::Contour;

/// Height of the capitals on the grid the letters are drawn on.
const ROWS: f64 = 12.0;
/// Width of a letter on the grid.
const COLUMNS: f64 = 8.0;
/// Grid steps from the start of one letter to the start of the next.
const ADVANCE: f64 = 12.0;

/// Strokes of each letter: straight lines from point to point, each point its column and its row in base 16.
const LETTERS: [(char, &str); 46] = [
    ('0', "2060828A6C2C0A0220 2468"),
    ('1', "1A4C40 1070"),
    ('2', "0A2C6C8A870080"),
    ('3', "0A2C6C8A88668482602002 3666"),
    ('4', "606C0484"),
    ('5', "8C0C07678582602002"),
    ('6', "7C3C0902206082856707"),
    ('7', "0C8C30"),
    ('8', "26080A2C6C8A886626 2604022060828466"),
    ('9', "1050838A6C2C0A072585"),
    ('A', "004C80 1373"),
    ('B', "000C6C8A886606 6684826000"),
    ('C', "8A6C2C0A02206082"),
    ('D', "000C5C89835000"),
    ('E', "8C0C0080 0666"),
    ('F', "8C0C00 0666"),
    ('G', "8A6C2C0A022060828656"),
    ('H', "000C 808C 0686"),
    ('I', "4C40 2C6C 2060"),
    ('J', "8C82602002"),
    ('K', "000C 8C04 3780"),
    ('L', "0C0080"),
    ('M', "000C458C80"),
    ('N', "000C808C"),
    ('O', "2060828A6C2C0A0220"),
    ('P', "000C6C8A876505"),
    ('Q', "2060828A6C2C0A0220 5380"),
    ('R', "000C6C8A876505 4580"),
    ('S', "8A6C2C0A0826668482602002"),
    ('T', "0C8C 4C40"),
    ('U', "0C022060828C"),
    ('V', "0C408C"),
    ('W', "0C2048608C"),
    ('X', "008C 0C80"),
    ('Y', "0C468C 4640"),
    ('Z', "0C8C0080"),
    ('-', "1676"),
    ('.', "3050523230"),
    (',', "4220"),
    ('/', "008C"),
    ('+', "1676 4349"),
    (':', "3343443433 3848493938"),
    ('#', "202C 606C 0484 0888"),
    ('_', "0080"),
    ('(', "6C4A4260"),
    (')', "2C4A4220"),
];

/// Words as strokes.
#[derive(Clone, Debug, PartialEq)]
pub struct Lettering {
    /// Open lines; the base line starts at the origin.
    pub strokes: Vec<Contour>,
    pub width_mm: f64,
    /// Letters there are no strokes for: their room is left free.
    pub missing: Vec<char>,
}

/// Width of words in letters whose capitals are `height_mm` high.
pub fn width(words: &str, height_mm: f64) -> f64 {
    let count = words.chars().fold(0.0, |count, _| count + 1.0);
    (count * ADVANCE - (ADVANCE - COLUMNS)).max(0.0) * height_mm / ROWS
}

/// Words in single lines, all capitals, `height_mm` high.
pub fn lettering(words: &str, height_mm: f64) -> Lettering {
    let step = height_mm / ROWS;
    let mut all =
        Lettering { strokes: Vec::new(), width_mm: width(words, height_mm), missing: Vec::new() };
    let mut start = 0.0;
    for letter in words.chars() {
        let letter = letter.to_ascii_uppercase();
        match LETTERS.iter().find(|(known, _)| *known == letter) {
            Some((_, strokes)) => {
                for stroke in strokes.split(' ') {
                    let points: Vec<DVec2> = points(stroke)
                        .map(|point| (point + DVec2::new(start, 0.0)) * step)
                        .collect();
                    all.strokes.push(Contour::through(&points, false));
                }
            }
            None if letter == ' ' => {}
            None => all.missing.push(letter),
        }
        start += ADVANCE;
    }
    all
}

/// The points of one stroke.
fn points(stroke: &str) -> impl Iterator<Item = DVec2> + '_ {
    let digit = |byte: u8| char::from(byte).to_digit(16).map_or(0.0, f64::from);
    stroke.as_bytes().chunks_exact(2).map(move |pair| DVec2::new(digit(pair[0]), digit(pair[1])))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A digit forgotten in a stroke would shift all that follow it out of the grid or leave half a point.
    #[test]
    fn every_letter_stays_on_its_grid_and_reaches_its_height() {
        for (letter, strokes) in LETTERS {
            let mut top: f64 = 0.0;
            for stroke in strokes.split(' ') {
                assert!(stroke.len() >= 4 && stroke.len() % 2 == 0, "{letter}");
                for point in points(stroke) {
                    assert!(point.x <= COLUMNS && point.y <= ROWS, "{letter}: {point}");
                    top = top.max(point.y);
                }
            }
            assert!(!letter.is_ascii_alphanumeric() || top == ROWS, "{letter}");
        }
        for letter in ('0'..='9').chain('A'..='Z') {
            assert!(LETTERS.iter().any(|(known, _)| *known == letter), "{letter}");
        }
    }

    #[test]
    fn words_are_as_wide_as_their_letters_and_say_what_is_missing() {
        let all = lettering("a-01", 3.0);
        assert_eq!(all.strokes.len(), 2 + 1 + 2 + 2);
        assert!((all.width_mm - (3.0 * 12.0 + 8.0) / 12.0 * 3.0).abs() < 1e-12);
        assert_eq!(lettering("É 7", 3.0).missing, ['É']);
    }
}
