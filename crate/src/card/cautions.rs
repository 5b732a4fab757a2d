//! What can hurt: said beside every step it belongs to, and by no setting to be switched off.

/// A danger of the work.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Caution {
    Torch,
    Flux,
    Cadmium,
    Zinc,
    Pitch,
    Pickle,
    HotMetal,
    Hearing,
    Dust,
    Buffing,
    Lead,
    Edges,
    Solvents,
}

/// Stands over everything else.
pub const FIRST: &str = "Before heat: read the supplier's safety data sheet of every filler, flux, pitch, pickle and alloy. Local codes and trained practice override anything shown here.";

impl Caution {
    /// The caution in a sentence. Bases: suppliers' safety sheets and rules for hot work, read; ANSI Z49.1, NFPA 51B, OSHA 29 CFR
    /// 1910.1025 and 1910.1027, from memory; NIOSH Pub. 98-126, read; the rest good practice, from memory.
    #[must_use]
    pub fn words(self) -> &'static str {
        match self {
            Self::Torch => {
                "Torch and gas: leak-check, flash-back arrestors, no oil on oxygen fittings, fire watch after work."
            }
            Self::Flux => {
                "Fluoride flux fume and residue irritate eyes, skin and lungs: eye protection, gloves, extraction at the work."
            }
            Self::Cadmium => {
                "No filler with cadmium (BAg-1, -1a, -3): overheated, it gives cadmium oxide fume, which can kill."
            }
            Self::Zinc => {
                "Zinc fume of overheated brass can cause metal-fume fever: heat the work, not the filler, and do not overheat."
            }
            Self::Pitch => {
                "Hot pitch sticks and burns: melt it below smoking, away from flame, gloves and long sleeves. Never close the tube at both ends: trapped air or moisture bursts it. Warm slowly from an open end."
            }
            Self::Pickle => {
                "Pickling acid: add acid to water, never water to acid; ventilate; keep iron out; quench only as its data sheet allows; dispose by local rule."
            }
            Self::HotMetal => {
                "Annealed metal stays hot after it looks black: tongs, quench at arm's length, mind steam."
            }
            Self::Hearing => {
                "Hammering can exceed 85 dBA: wear hearing protection (NIOSH: 85 dBA for 8 h, half the time for each 3 dB more)."
            }
            Self::Dust => {
                "Fine metal dust: catch it at the source, wet methods where possible, a suitable respirator."
            }
            Self::Buffing => {
                "Buffing catches loose clothing, hair and parts: face shield, no gloves that can be caught."
            }
            Self::Lead => {
                "Some brass bar and cast bronze hold lead: no torch, no dry sanding, wash hands; lead-free where a mouth may touch."
            }
            Self::Edges => {
                "Cut edges are sharp: deburr, rinse abrasive off before forming or soldering."
            }
            Self::Solvents => "Glue and solvent vapour: ventilate, no flame near.",
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The dangers the trade names must each be said in words that name them.
    #[test]
    fn every_danger_is_named() {
        for (caution, word) in [
            (Caution::Torch, "Torch"),
            (Caution::Flux, "flux"),
            (Caution::Cadmium, "kill"),
            (Caution::Zinc, "Zinc"),
            (Caution::Pitch, "Never close the tube at both ends"),
            (Caution::Pickle, "acid"),
            (Caution::Hearing, "hearing"),
            (Caution::Dust, "dust"),
            (Caution::Buffing, "Buffing"),
            (Caution::Lead, "lead"),
        ] {
            assert!(caution.words().contains(word));
        }
        assert!(FIRST.contains("safety data sheet") && FIRST.contains("Local codes"));
    }
}
