//! A tube from its inlet to its outlet: pieces in a row, with holes between them.

use num_complex::Complex64 as Complex;

use super::disturbance::Lump;
use super::losses::Medium;
use super::segment::{Matrix, Segment, State, Wave};
use super::vent::SideHole;

/// What follows along a tube.
#[derive(Clone, Debug, PartialEq)]
pub enum Piece {
    Segment(Segment),
    Hole(SideHole),
    /// What stands in the bore, or a wall's end.
    Lump(Lump),
}

/// A tube, from the player's end on.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Duct {
    pub pieces: Vec<Piece>,
}

impl Duct {
    /// A straight cone in so many pieces; millimetres.
    #[must_use]
    pub fn cone(length_mm: f64, inlet_mm: f64, outlet_mm: f64, pieces: usize) -> Self {
        let radius = |share: f64| inlet_mm + (outlet_mm - inlet_mm) * share;
        let at = |k: usize| k as f64 / pieces as f64;
        let cut =
            |k: usize| Segment::cone(length_mm / pieces as f64, radius(at(k)), radius(at(k + 1)));
        Self { pieces: (0..pieces).map(|k| Piece::Segment(cut(k))).collect() }
    }

    /// The state at the inlet, from that at the outlet.
    #[must_use]
    pub fn carry(&self, medium: &Medium, omega: f64, outlet: State) -> State {
        let wave = Wave::of(medium, omega);
        self.pieces.iter().rev().fold(outlet, |state, piece| match piece {
            Piece::Segment(segment) => segment.matrix_with(&wave, medium).apply(&state),
            Piece::Hole(hole) => hole.before(medium, &wave, &state),
            Piece::Lump(lump) => lump.before(medium, &wave, &state),
        })
    }

    /// The whole tube as one matrix.
    #[must_use]
    pub fn matrix(&self, medium: &Medium, omega: f64) -> Matrix {
        let one = |pressure: f64, flow: f64| State {
            pressure: Complex::new(pressure, 0.0),
            flow: Complex::new(flow, 0.0),
        };
        let (shut, open) =
            (self.carry(medium, omega, one(1.0, 0.0)), self.carry(medium, omega, one(0.0, 1.0)));
        Matrix { a: shut.pressure, b: open.pressure, c: shut.flow, d: open.flow }
    }

    /// Length along the centreline, m.
    #[must_use]
    pub fn length(&self) -> f64 {
        self.pieces
            .iter()
            .map(|piece| match piece {
                Piece::Segment(segment) => segment.length,
                Piece::Hole(_) | Piece::Lump(_) => 0.0,
            })
            .sum()
    }
}
