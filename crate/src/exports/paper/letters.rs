//! Widths of Helvetica's letters, and their codes in a PDF.

/// Widths of the codes 32 to 255 of WinAnsiEncoding in Helvetica, thousandths of the size (Adobe font metrics, from memory;
/// the tests hold them against another program's).
#[rustfmt::skip]
const WIDTHS: [u16; 224] = [
    278, 278, 355, 556, 556, 889, 667, 191, 333, 333, 389, 584, 278, 333, 278, 278,
    556, 556, 556, 556, 556, 556, 556, 556, 556, 556, 278, 278, 584, 584, 584, 556,
    1015, 667, 667, 722, 722, 667, 611, 778, 722, 278, 500, 667, 556, 833, 722, 778,
    667, 778, 722, 667, 611, 722, 667, 944, 667, 667, 611, 278, 278, 278, 469, 556,
    333, 556, 556, 500, 556, 556, 278, 556, 556, 222, 222, 500, 222, 833, 556, 556,
    556, 556, 333, 500, 278, 556, 500, 722, 500, 500, 500, 334, 260, 334, 584, 350,
    556, 350, 222, 556, 333, 1000, 556, 556, 333, 1000, 667, 333, 1000, 350, 611, 350,
    350, 222, 222, 333, 333, 350, 556, 1000, 333, 1000, 500, 333, 944, 350, 500, 667,
    278, 333, 556, 556, 556, 556, 260, 556, 333, 737, 370, 556, 584, 333, 737, 333,
    400, 584, 333, 333, 333, 556, 537, 278, 333, 333, 365, 556, 834, 834, 834, 611,
    667, 667, 667, 667, 667, 667, 1000, 722, 667, 667, 667, 667, 278, 278, 278, 278,
    722, 722, 778, 778, 778, 778, 778, 584, 778, 722, 722, 722, 722, 667, 667, 611,
    556, 556, 556, 556, 556, 556, 889, 500, 556, 556, 556, 556, 278, 278, 278, 278,
    556, 556, 556, 556, 556, 556, 556, 584, 611, 556, 556, 556, 556, 500, 556, 500,
];

/// Characters of WinAnsiEncoding that stand elsewhere in Unicode, with their codes.
const ELSEWHERE: [(char, u8); 27] = [
    ('\u{20AC}', 0x80),
    ('\u{201A}', 0x82),
    ('\u{0192}', 0x83),
    ('\u{201E}', 0x84),
    ('\u{2026}', 0x85),
    ('\u{2020}', 0x86),
    ('\u{2021}', 0x87),
    ('\u{02C6}', 0x88),
    ('\u{2030}', 0x89),
    ('\u{0160}', 0x8A),
    ('\u{2039}', 0x8B),
    ('\u{0152}', 0x8C),
    ('\u{017D}', 0x8E),
    ('\u{2018}', 0x91),
    ('\u{2019}', 0x92),
    ('\u{201C}', 0x93),
    ('\u{201D}', 0x94),
    ('\u{2022}', 0x95),
    ('\u{2013}', 0x96),
    ('\u{2014}', 0x97),
    ('\u{02DC}', 0x98),
    ('\u{2122}', 0x99),
    ('\u{0161}', 0x9A),
    ('\u{203A}', 0x9B),
    ('\u{0153}', 0x9C),
    ('\u{017E}', 0x9E),
    ('\u{0178}', 0x9F),
];

/// Code of a letter in WinAnsiEncoding. A letter that Helvetica does not have becomes a question mark, so that its
/// absence shows; the signs of a musician's sharps and flats become those they are typed with.
pub fn code(letter: char) -> u8 {
    match letter {
        ' '..='~' | '\u{A0}'..='\u{FF}' => u8::try_from(u32::from(letter)).unwrap_or(b'?'),
        '\t' | '\n' | '\r' => b' ',
        '\u{2212}' => b'-',
        '\u{2300}' => 0xD8,
        '\u{266F}' => b'#',
        '\u{266D}' => b'b',
        _ => ELSEWHERE.iter().find(|(known, _)| *known == letter).map_or(b'?', |(_, code)| *code),
    }
}

/// Width of words set in Helvetica of this size, mm.
#[must_use]
pub fn text_width(words: &str, size_mm: f64) -> f64 {
    let thousandths: u32 = words
        .chars()
        .map(|letter| {
            let place = usize::from(code(letter)).saturating_sub(32);
            u32::from(WIDTHS.get(place).copied().unwrap_or_default())
        })
        .sum();
    f64::from(thousandths) / 1000.0 * size_mm
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Truth: Helvetica's digits are all 556, and Ø is as wide as O (778): Adobe's font metrics.
    #[test]
    fn digits_are_of_one_width() {
        assert!((text_width("0123456789", 10.0) - 55.6).abs() < 1e-12);
        assert_eq!(code('Ø'), 0xD8);
        assert!((text_width("\u{D8}", 1.0) - 0.778).abs() < 1e-12);
        assert_eq!(code('€'), 0x80);
        assert_eq!(code('漢'), b'?');
    }
}
