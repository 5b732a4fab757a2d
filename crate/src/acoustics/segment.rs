//! One short piece of the tube: a cone (or cylinder), straight or bent.
//!
//! Between pressure p and flow u at its two ends stands a 2×2 matrix, from the outlet back to the inlet. In a cone of plane
//! waves over area πr² the equations p' = −z u/S, u' = −y S p (z, y of the duct's unit area, constant over the piece) are
//! solved exactly; with r = r₁ + τx this is the spherical wave of the textbooks (N. H. Fletcher & T. D. Rossing, *The
//! Physics of Musical Instruments*, chapter 8), written here without the distance to the apex, so that it holds for a
//! cylinder and for a cone that narrows too.

use num_complex::Complex64 as Complex;

use super::losses::{Factors, Medium, root};

/// Up to this size of (ΓL)² the hyperbolic functions are taken from their series; the next term is below 1e-12.
const SERIES_UP_TO: f64 = 0.03;

/// Pressure and flow at one place; only their ratio is an impedance, the rest is a common factor.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct State {
    /// Pressure, Pa.
    pub pressure: Complex,
    /// Volume flow away from the player, m³/s.
    pub flow: Complex,
}

impl State {
    /// What a load of this impedance leaves free: the flow is one.
    #[must_use]
    pub fn load(impedance: Complex) -> Self {
        Self { pressure: impedance, flow: Complex::new(1.0, 0.0) }
    }

    /// An end that is shut: no flow.
    #[must_use]
    pub fn shut() -> Self {
        Self { pressure: Complex::new(1.0, 0.0), flow: Complex::default() }
    }

    /// An end without any pressure, as closed forms like it.
    #[must_use]
    pub fn released() -> Self {
        Self::load(Complex::default())
    }

    /// Impedance looking away from the player, Pa·s/m³.
    #[must_use]
    pub fn impedance(&self) -> Complex {
        self.pressure / self.flow
    }

    /// Admittance looking away from the player, m³/(Pa·s).
    #[must_use]
    pub fn admittance(&self) -> Complex {
        self.flow / self.pressure
    }

    /// The state before a branch of this admittance.
    #[must_use]
    pub fn before_branch(&self, admittance: Complex) -> Self {
        Self { pressure: self.pressure, flow: self.flow + self.pressure * admittance }
    }

    /// The state before an impedance in line.
    #[must_use]
    pub fn before_series(&self, impedance: Complex) -> Self {
        Self { pressure: self.pressure + self.flow * impedance, flow: self.flow }
    }
}

/// From the state at the outlet to that at the inlet.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Matrix {
    pub a: Complex,
    pub b: Complex,
    pub c: Complex,
    pub d: Complex,
}

impl Matrix {
    /// The state at the inlet.
    #[must_use]
    pub fn apply(&self, out: &State) -> State {
        State {
            pressure: self.a * out.pressure + self.b * out.flow,
            flow: self.c * out.pressure + self.d * out.flow,
        }
    }

    /// One, for every passive tube: the same from both ends (reciprocity).
    #[must_use]
    pub fn determinant(&self) -> Complex {
        self.a * self.d - self.b * self.c
    }
}

/// A short cone. Metres inside.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Segment {
    pub length: f64,
    pub inlet: f64,
    pub outlet: f64,
    /// One over the radius whose losses stand for the whole piece: the mean of 1/r along it.
    pub inverse_radius: f64,
    /// By what the bend multiplies the inertia of the air; 1 where the tube is straight.
    pub bend: f64,
}

impl Segment {
    /// A straight cone between two radii; millimetres.
    #[must_use]
    pub fn cone(length_mm: f64, inlet_mm: f64, outlet_mm: f64) -> Self {
        let (length, inlet, outlet) = (length_mm * 1e-3, inlet_mm * 1e-3, outlet_mm * 1e-3);
        let grown = (outlet - inlet) / inlet;
        // ln(1 + g)/g, whose series serves where both are nearly the same.
        let mean = if grown.abs() < 1e-4 {
            1.0 - grown / 2.0 + grown * grown / 3.0
        } else {
            libm::log1p(grown) / grown
        };
        Self { length, inlet, outlet, inverse_radius: mean / inlet, bend: 1.0 }
    }

    /// The same, bent to this curvature of its centreline, 1/mm.
    #[must_use]
    pub fn bent(self, curvature_per_mm: f64) -> Self {
        Self { bend: bend_factor(1e3 * curvature_per_mm / self.inverse_radius), ..self }
    }

    /// Matrix at an angular frequency, with the wall's factors at this piece's radius.
    #[must_use]
    pub fn matrix(&self, medium: &Medium, omega: f64) -> Matrix {
        self.matrix_with(&Wave::of(medium, omega), medium)
    }

    /// The same with what depends on frequency alone made ready.
    #[must_use]
    pub fn matrix_with(&self, wave: &Wave, medium: &Medium) -> Matrix {
        let Factors { inertia, compliance } = medium.factors(wave.layer * self.inverse_radius);
        let inertia = inertia * self.bend;
        let squared = inertia * compliance * (wave.minus_k_squared * self.length * self.length);
        let Lines { cosh, sinh, rest } = Lines::of(squared);
        let (r1, r2, rise) = (self.inlet, self.outlet, self.outlet - self.inlet);
        let across = std::f64::consts::PI * r1 * r2;
        let (share1, share2) = (rise / r1, rise / r2);
        // jωρ g L sinh / (π r₁ r₂), and jω h L π (r₁ r₂ sinh + (r₂ − r₁)² rest) / (ρc²).
        let b = inertia * sinh * (wave.inertia * self.length / across);
        let c = compliance
            * (sinh * across + rest * (std::f64::consts::PI * rise * rise))
            * (wave.compliance * self.length);
        Matrix {
            a: cosh * (1.0 + share1) - sinh * share1,
            b: Complex::new(-b.im, b.re),
            c: Complex::new(-c.im, c.re),
            d: cosh * (1.0 - share2) + sinh * share2,
        }
    }
}

/// What the frequency alone decides.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Wave {
    pub omega: f64,
    /// √(η/(ρω)), m.
    pub layer: f64,
    /// −(ω/c)².
    minus_k_squared: f64,
    /// ωρ.
    pub inertia: f64,
    /// ω/(ρc²).
    pub compliance: f64,
}

impl Wave {
    #[must_use]
    pub fn of(medium: &Medium, omega: f64) -> Self {
        let air = &medium.air;
        let k = air.wave_number(omega);
        Self {
            omega,
            layer: medium.layer(omega),
            minus_k_squared: -k * k,
            inertia: omega * air.density,
            compliance: omega / (air.density * air.speed * air.speed),
        }
    }
}

/// cosh z, sinh z / z and (cosh z − sinh z / z)/z², all of them functions of z² without a branch.
#[derive(Clone, Copy, Debug, PartialEq)]
struct Lines {
    cosh: Complex,
    sinh: Complex,
    rest: Complex,
}

impl Lines {
    fn of(squared: Complex) -> Self {
        if squared.norm_sqr() < SERIES_UP_TO * SERIES_UP_TO {
            let second = squared * squared;
            let third = second * squared;
            let sum = |a: f64, b: f64, c: f64, d: f64| {
                Complex::new(
                    a + squared.re * b + second.re * c + third.re * d,
                    squared.im * b + second.im * c + third.im * d,
                )
            };
            // Σ zⁿ/(2n+1)! and Σ zⁿ (2n+2)/(2n+3)!.
            let sinh = sum(1.0, 1.0 / 6.0, 1.0 / 120.0, 1.0 / 5040.0);
            let rest = sum(1.0 / 3.0, 1.0 / 30.0, 1.0 / 840.0, 1.0 / 45360.0);
            return Self { cosh: sinh + squared * rest, sinh, rest };
        }
        let z = root(squared);
        let (sin, cos) = libm::sincos(z.im);
        let (over, under) = (libm::exp(z.re), libm::exp(-z.re));
        let (ch, sh) = ((over + under) / 2.0, (over - under) / 2.0);
        let cosh = Complex::new(ch * cos, sh * sin);
        let sinh = Complex::new(sh * cos, ch * sin) / z;
        Self { cosh, sinh, rest: (cosh - sinh) / squared }
    }
}

/// By what a bend multiplies the inertia of the air at low frequency: (1 + √(1 − κ²))/2, κ the radius of the bore over that
/// of the bend.
///
/// In a torus the flow that falls off as one over the distance from the bend's axis is an exact potential flow; its inertia
/// is less by this factor, and the volume is that of the straight tube (Pappus). J. W. Coltman, "Acoustical properties of
/// bends" (2006), gives the same mechanism; C. J. Nederveen and others measured it. S. Félix, J.-P. Dalmont & C. J. Nederveen,
/// J. Acoust. Soc. Am. 131 (2012) 4164, show that the shift depends on frequency and may turn round: low frequency only.
#[must_use]
pub fn bend_factor(kappa: f64) -> f64 {
    (1.0 + (1.0 - (kappa * kappa).min(1.0)).sqrt()) / 2.0
}
