//! The air in the tube: speed of sound, density, viscosity, and what carries heat.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// Zero of the Celsius scale, K.
const ZERO_C: f64 = 273.15;
/// One atmosphere, Pa.
pub const ATMOSPHERE_PA: f64 = 101_325.0;

/// What air to reckon with, as a person would say it.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Breath {
    /// Temperature of the air in the tube, the same along all of it.
    #[schemars(range(min = 0.0, max = 40.0))]
    pub temperature_c: f64,
    /// Relative humidity.
    #[schemars(range(min = 0.0, max = 100.0))]
    pub humidity_percent: f64,
    /// Carbon dioxide by volume; the breath a player blows has a few percent, a room 0.04.
    #[schemars(range(min = 0.0, max = 6.0))]
    pub carbon_dioxide_percent: f64,
    /// Pressure of the air.
    #[schemars(range(min = 60.0, max = 110.0))]
    pub pressure_kpa: f64,
}

impl Default for Breath {
    /// Warm and wet, with the carbon dioxide of breath. Inside a horn it cools towards the bell, which is left out.
    fn default() -> Self {
        Self {
            temperature_c: 27.0,
            humidity_percent: 100.0,
            carbon_dioxide_percent: 2.5,
            pressure_kpa: 101.325,
        }
    }
}

/// What the waves feel of the air. SI units.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Air {
    /// Speed of sound, m/s.
    pub speed: f64,
    /// Density, kg/m³.
    pub density: f64,
    /// Viscosity, Pa·s.
    pub viscosity: f64,
    /// Ratio of specific heats.
    pub heat_ratio: f64,
    /// Square root of the Prandtl number.
    pub root_prandtl: f64,
}

impl Air {
    /// Dry air near room temperature by the linear formulas of D. H. Keefe, "Acoustical wave propagation in cylindrical
    /// ducts", J. Acoust. Soc. Am. 75 (1984) 58-62; the slopes are from memory. Within 10 °C of 26.85 °C.
    #[must_use]
    pub fn dry(celsius: f64) -> Self {
        let above = celsius - 26.85;
        Self {
            speed: 347.23 * (1.0 + 0.00166 * above),
            density: 1.1769 * (1.0 - 0.00335 * above),
            viscosity: 1.846e-5 * (1.0 + 0.0025 * above),
            heat_ratio: 1.4017 * (1.0 - 0.00002 * above),
            root_prandtl: 0.8410 * (1.0 - 0.0002 * above),
        }
    }

    /// Breath: speed by [`speed_of_sound`], density by [`density`]. Viscosity, heat ratio and Prandtl number are those of
    /// dry air: water and carbon dioxide change them by about a hundredth, and with them the losses, not the pitch.
    #[must_use]
    pub fn of(breath: &Breath) -> Self {
        Self {
            speed: speed_of_sound(breath),
            density: density(breath),
            ..Self::dry(breath.temperature_c)
        }
    }

    /// Frequency times length of one wave, over 2π: the wave number at an angular frequency, 1/m.
    #[must_use]
    pub fn wave_number(&self, omega: f64) -> f64 {
        omega / self.speed
    }

    /// Characteristic impedance of a duct of this radius (m) without losses, Pa·s/m³.
    #[must_use]
    pub fn impedance(&self, radius: f64) -> f64 {
        self.density * self.speed / (std::f64::consts::PI * radius * radius)
    }
}

/// Mole fraction of water in air: saturation pressure and enhancement factor as in Cramer's appendix (after Giacomo,
/// Metrologia 18 (1982) 33).
#[must_use]
pub fn water_fraction(breath: &Breath) -> f64 {
    let t = breath.temperature_c;
    let kelvin = t + ZERO_C;
    let pressure = breath.pressure_kpa * 1000.0;
    let enhancement = 1.00062 + 3.14e-8 * pressure + 5.6e-7 * t * t;
    let saturation = libm::exp(
        1.2811805e-5 * kelvin * kelvin - 1.9509874e-2 * kelvin + 34.04926034 - 6353.6311 / kelvin,
    );
    breath.humidity_percent / 100.0 * enhancement * saturation / pressure
}

/// Speed of sound in humid air with carbon dioxide, m/s.
///
/// O. Cramer, "The variation of the specific heat ratio and the speed of sound in air with temperature, pressure, humidity,
/// and CO2 concentration", J. Acoust. Soc. Am. 93 (1993) 2510-2516, equation 15. Stated for 0 to 30 °C, 75 to 102 kPa, up to
/// 1 % of carbon dioxide, within 300 ppm (half a cent); breath is beyond its last limit, so its few percent of carbon dioxide
/// are an extrapolation.
#[must_use]
pub fn speed_of_sound(breath: &Breath) -> f64 {
    const A: [f64; 16] = [
        331.5024, 0.603055, -0.000528, 51.471935, 0.1495874, -0.000782, -1.82e-7, 3.73e-8,
        -2.93e-10, -85.20931, -0.228525, 5.91e-5, -2.835149, -2.15e-13, 29.179762, 0.000486,
    ];
    let t = breath.temperature_c;
    let p = breath.pressure_kpa * 1000.0;
    let (water, carbon) = (water_fraction(breath), breath.carbon_dioxide_percent / 100.0);
    let square = |a: f64, b: f64, c: f64| a + b * t + c * t * t;
    square(A[0], A[1], A[2])
        + square(A[3], A[4], A[5]) * water
        + square(A[6], A[7], A[8]) * p
        + square(A[9], A[10], A[11]) * carbon
        + A[12] * water * water
        + A[13] * p * p
        + A[14] * carbon * carbon
        + A[15] * water * p * carbon
}

/// Density of humid air with carbon dioxide, kg/m³: CIPM-2007 (Picard, Davis, Gläser & Fujii, Metrologia 45 (2008)
/// 149-155) without its compressibility, which is 1 within 0.0005. From memory.
#[must_use]
pub fn density(breath: &Breath) -> f64 {
    let kelvin = breath.temperature_c + ZERO_C;
    let carbon = breath.carbon_dioxide_percent / 100.0;
    (3.483740 + 1.4446 * (carbon - 0.0004)) * 1e-3 * breath.pressure_kpa * 1000.0 / kelvin
        * (1.0 - 0.3780 * water_fraction(breath))
}
