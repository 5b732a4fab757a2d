//! Notes as the player reads them, and what they sound.

use crate::job::Voice;

/// Lowest and highest written note of a horn's two registers, in semitones of [`Note::semitone`]: A3 (a baritone's lowest) to
/// C#6. The notes above are fingered by palm keys, whose holes stand above those of the body.
const LOWEST: i32 = 57;
const HIGHEST: i32 = 85;
/// Written D5, the lowest note of the upper register.
const UPPER_FROM: i32 = 74;
/// Written A5, from which the vent on the neck opens; below it, the one on the body does.
const NECK_VENT_FROM: i32 = 81;

/// A written note.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Note {
    /// As the player reads it: `A4`, `C#5`, `Bb3`.
    pub name: String,
    /// Semitones, 69 for written A4.
    pub semitone: i32,
}

impl Note {
    /// A note by its name: letter, `#` or `b`, octave; none if it is no name of a note.
    #[must_use]
    pub fn named(name: &str) -> Option<Self> {
        let mut letters = name.chars();
        let step = match letters.next()? {
            'C' => 0,
            'D' => 2,
            'E' => 4,
            'F' => 5,
            'G' => 7,
            'A' => 9,
            'B' => 11,
            _ => return None,
        };
        let rest = letters.as_str();
        let (shift, octave) = match rest.strip_prefix('#') {
            Some(octave) => (1, octave),
            None => rest.strip_prefix('b').map_or((0, rest), |octave| (-1, octave)),
        };
        let octave: i32 = octave.parse().ok().filter(|octave| (0..10).contains(octave))?;
        Some(Self { name: name.to_owned(), semitone: 12 * (octave + 1) + step + shift })
    }

    /// Whether it is one of the two registers this model has: written A3 to C#6.
    #[must_use]
    pub fn is_of_two_registers(&self) -> bool {
        (LOWEST..=HIGHEST).contains(&self.semitone)
    }

    /// Whether it is played on the second resonance, with an octave vent open.
    #[must_use]
    pub fn is_upper(&self) -> bool {
        self.semitone >= UPPER_FROM
    }

    /// Whether its octave vent is the one on the neck.
    #[must_use]
    pub fn opens_neck_vent(&self) -> bool {
        self.semitone >= NECK_VENT_FROM
    }

    /// What the fingering sounds on its first resonance, Hz, in equal temperament.
    #[must_use]
    pub fn fundamental_hz(&self, voice: Voice, tuning_hz: f64) -> f64 {
        let octave = if self.is_upper() { 12 } else { 0 };
        pitch(self.semitone - octave - lower_by(voice), tuning_hz)
    }
}

/// Name of a written note, with a sharp where it has one.
#[must_use]
pub fn name_of(semitone: i32) -> String {
    const NAMES: [&str; 12] = ["C", "C#", "D", "D#", "E", "F", "F#", "G", "G#", "A", "A#", "B"];
    let name = NAMES.get(semitone.rem_euclid(12) as usize).copied().unwrap_or_default();
    format!("{name}{}", semitone.div_euclid(12) - 1)
}

/// Semitones a horn sounds below what is written.
fn lower_by(voice: Voice) -> i32 {
    match voice {
        Voice::Soprano => 2,
        Voice::Alto => 9,
        Voice::Tenor => 14,
        Voice::Baritone => 21,
    }
}

fn pitch(semitone: i32, tuning_hz: f64) -> f64 {
    tuning_hz * libm::exp2(f64::from(semitone - 69) / 12.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Written C5 of an alto sounds E flat 4, 311.13 Hz; written A4 of a tenor G3, 196.00 Hz (tables of equal temperament); the
    /// upper register is fingered an octave below.
    #[test]
    fn written_notes_sound_as_the_horn_is_pitched() {
        let sounds = |name, voice| Note::named(name).unwrap().fundamental_hz(voice, 440.0);
        assert!((sounds("C5", Voice::Alto) - 311.127).abs() < 1e-3);
        assert!((sounds("A4", Voice::Tenor) - 195.998).abs() < 1e-3);
        assert!((sounds("A4", Voice::Soprano) - 391.995).abs() < 1e-3);
        assert!((sounds("Bb3", Voice::Baritone) - 69.296).abs() < 1e-3);
        assert_eq!(Note::named("Cb5").unwrap().semitone, Note::named("B4").unwrap().semitone);
        let a5 = Note::named("A5").unwrap();
        assert!(a5.is_upper() && a5.opens_neck_vent());
        assert!((sounds("A5", Voice::Tenor) - 195.998).abs() < 1e-3);
        assert_eq!(
            ["A4", "C#5", "B3"],
            [name_of(69), name_of(73), name_of(59)].each_ref().map(String::as_str)
        );
        for wrong in ["", "H4", "C", "C##4", "Cx", "C-1", "C44", "c4"] {
            assert!(Note::named(wrong).is_none(), "{wrong}");
        }
    }
}
