//! What the wall of a tube takes from a wave: friction in a layer of air along it, and heat.
//!
//! A round tube of radius a has, a unit length, the series impedance jωρ/S · 1/(1 − F(k_v a)) and the shunt admittance
//! jωS/(ρc²) · (1 + (γ−1) F(k_t a)), with F(z) = 2 J₁(z) / (z J₀(z)), k_v² = −jωρ/η and k_t = k_v √Pr (C. Zwikker &
//! C. W. Kosten, *Sound Absorbing Materials*, 1949; the form of D. H. Keefe, J. Acoust. Soc. Am. 75 (1984) 58-62). Both
//! depend on frequency and radius by one number alone, the Stokes number a √(ωρ/η).

use num_complex::Complex64 as Complex;

use super::air::Air;

/// Below this Stokes number F is taken from its continued fraction, above from the series, which is quicker. The terms left
/// out of the series are there less than 3e-9.
const SERIES_FROM: f64 = 20.0;
/// Terms of the series.
const TERMS: usize = 7;
/// cos 45°.
const HALF_ROOT: f64 = std::f64::consts::FRAC_1_SQRT_2;

/// F(z) of the head of this file, at z² = −j s².
///
/// By Gauss's continued fraction for J₁/J₀, from its far end; z² is imaginary, so no denominator vanishes. Exact to the last
/// few bits for every s from 0 to a few hundred.
#[must_use]
pub fn wall_share(s: f64) -> Complex {
    let quarter = Complex::new(0.0, -0.25 * s * s);
    // The n-th denominator is n (n + 1): it outgrows s²/4 beyond n = s/2, and then each step wins digits quickly.
    let steps = (s.min(1e4) / 2.0) as u32 + 30;
    let mut below = Complex::new(1.0, 0.0);
    for n in (1..=steps).rev() {
        let n = f64::from(n);
        below = Complex::new(1.0, 0.0) - quarter / below / (n * (n + 1.0));
    }
    below.inv()
}

/// Whether the wall takes anything.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Walls {
    /// No friction, no heat: for closed forms and first looks.
    Ideal,
    /// Smooth and rigid, at the temperature of the air. A real wall is rougher and takes some percent more.
    Smooth,
}

/// By what the wall multiplies the inertia and the compliance of the air in a tube; 1 and 1 without losses.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Factors {
    /// 1/(1 − F(k_v a)).
    pub inertia: Complex,
    /// 1 + (γ−1) F(k_t a).
    pub compliance: Complex,
}

/// Air and wall together, made ready for many frequencies and radii.
#[derive(Clone, Debug, PartialEq)]
pub struct Medium {
    pub air: Air,
    pub walls: Walls,
    inertia: [Complex; TERMS],
    compliance: [Complex; TERMS],
}

impl Medium {
    /// Prepares the series of the two factors in the inverse of the Stokes number.
    ///
    /// With w = s e^{jπ/4}, F = 2 I₁(w)/(w I₀(w)), and y = I₁/I₀ obeys y' = 1 − y/w − y², which gives the terms of its
    /// expansion for large w one from the other: 1 − 1/(2w) − 1/(8w²) − 1/(8w³) − …
    #[must_use]
    pub fn new(air: Air, walls: Walls) -> Self {
        let mut ratio = [1.0_f64; TERMS];
        for m in 1..TERMS {
            let products: f64 = (1..m).map(|i| ratio[i] * ratio[m - i]).sum();
            ratio[m] = ((m as f64 - 2.0) * ratio[m - 1] - products) / 2.0;
        }
        // F = Σ share[k] w^-(k+1), and 1/(1 − F) by dividing out.
        let share = ratio.map(|a| 2.0 * a);
        let mut quotient = [0.0_f64; TERMS];
        for k in 0..TERMS {
            let products: f64 = (0..k).map(|i| share[i] * quotient[k - 1 - i]).sum();
            quotient[k] = share[k] + products;
        }
        // 1/w = (1/s) e^{-jπ/4}, and its powers go round the eighths of a turn.
        let mut turn = Complex::new(1.0, 0.0);
        let (mut prandtl, heat) = (1.0, air.heat_ratio - 1.0);
        let mut inertia = [Complex::default(); TERMS];
        let mut compliance = [Complex::default(); TERMS];
        for k in 0..TERMS {
            turn *= Complex::new(HALF_ROOT, -HALF_ROOT);
            prandtl /= air.root_prandtl;
            inertia[k] = turn * quotient[k];
            compliance[k] = turn * (heat * share[k] * prandtl);
        }
        Self { air, walls, inertia, compliance }
    }

    /// Thickness of the layer of friction over √2 at an angular frequency: √(η/(ρω)), m. A radius over it is the Stokes number.
    #[must_use]
    pub fn layer(&self, omega: f64) -> f64 {
        (self.air.viscosity / (self.air.density * omega)).sqrt()
    }

    /// The factors in a tube whose radius is `thinness` layers over one: the inverse of the Stokes number.
    #[must_use]
    pub fn factors(&self, thinness: f64) -> Factors {
        if self.walls == Walls::Ideal {
            let one = Complex::new(1.0, 0.0);
            return Factors { inertia: one, compliance: one };
        }
        if thinness * SERIES_FROM > 1.0 {
            return self.exact_factors(1.0 / thinness);
        }
        let sum = |terms: &[Complex; TERMS]| {
            let inner =
                terms.iter().rev().fold(Complex::default(), |sum, term| (sum + term) * thinness);
            inner + 1.0
        };
        Factors { inertia: sum(&self.inertia), compliance: sum(&self.compliance) }
    }

    /// The factors at a Stokes number, by the Bessel functions themselves.
    #[must_use]
    pub fn exact_factors(&self, stokes: f64) -> Factors {
        let one = Complex::new(1.0, 0.0);
        Factors {
            inertia: (one - wall_share(stokes)).inv(),
            compliance: one
                + wall_share(stokes * self.air.root_prandtl) * (self.air.heat_ratio - 1.0),
        }
    }

    /// How the factors change with the logarithm of the radius, for small changes of a bore; `thinness` as in
    /// [`Self::factors`].
    #[must_use]
    pub fn factor_slopes(&self, thinness: f64) -> Factors {
        if self.walls == Walls::Ideal {
            return Factors { inertia: Complex::default(), compliance: Complex::default() };
        }
        if thinness * SERIES_FROM > 1.0 {
            return self.exact_factor_slopes(1.0 / thinness);
        }
        // Term by term: the k-th falls off as the k-th power of the radius.
        let sum = |terms: &[Complex; TERMS]| {
            let weighted = terms.iter().enumerate().rev();
            weighted.fold(Complex::default(), |sum, (k, term)| {
                (sum - term * (k as f64 + 1.0)) * thinness
            })
        };
        Factors { inertia: sum(&self.inertia), compliance: sum(&self.compliance) }
    }

    /// The same at a Stokes number by the Bessel functions: z F'(z) = 2 − 2F + z²F²/2, from their recurrences.
    fn exact_factor_slopes(&self, stokes: f64) -> Factors {
        let slope = |s: f64| {
            let share = wall_share(s);
            (share, 2.0 - share * 2.0 + share * share * Complex::new(0.0, -0.5 * s * s))
        };
        let (share, by_radius) = slope(stokes);
        let rest = Complex::new(1.0, 0.0) - share;
        let (_, heat_by_radius) = slope(stokes * self.air.root_prandtl);
        Factors {
            inertia: by_radius / (rest * rest),
            compliance: heat_by_radius * (self.air.heat_ratio - 1.0),
        }
    }

    /// Propagation constant (1/m; its real part is the attenuation) and characteristic impedance (Pa·s/m³) of a cylinder of
    /// this radius (m).
    #[must_use]
    pub fn line(&self, radius: f64, omega: f64) -> (Complex, Complex) {
        let factors = match self.walls {
            Walls::Ideal => self.factors(0.0),
            Walls::Smooth => self.exact_factors(radius / self.layer(omega)),
        };
        let k = self.air.wave_number(omega);
        let propagation = root(-(factors.inertia * factors.compliance)) * k;
        let impedance = root(factors.inertia / factors.compliance) * self.air.impedance(radius);
        (propagation, impedance)
    }
}

/// The square root with a real part that is not negative; std's would not be the same bits everywhere.
#[must_use]
pub fn root(z: Complex) -> Complex {
    let size = z.norm_sqr().sqrt();
    let re = ((size + z.re) / 2.0).max(0.0).sqrt();
    let im = ((size - z.re) / 2.0).max(0.0).sqrt();
    Complex::new(re, if z.im < 0.0 { -im } else { im })
}
