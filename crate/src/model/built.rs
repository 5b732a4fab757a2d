//! One part with its solid, and what is measured on it when asked.

use std::ops::Deref;
use std::sync::OnceLock;

use glam::DVec3;

use crate::checks::SurfaceSamples;
use crate::geometry::distance::DistanceField;
use crate::parts::Part;
use crate::solids::brep::Solid;
use crate::solids::mesh::{SolidMesh, mesh};
use crate::solids::properties::{Properties, bounds, properties};
use crate::solids::{SolidError, build};

/// Chord of the triangles that clearances and boxes start from, mm. Both look finer where it
/// matters; a coarse start is quick.
pub(super) const SEARCH_CHORD: f64 = 0.2;

/// Colour of keep-outs, sRGB: grey.
const KEEPOUT_COLOUR: [u8; 3] = [0x9a, 0x9a, 0x94];

/// A part with its solid: all that files are made from.
#[derive(Debug)]
pub struct Formed {
    pub part: Part,
    pub solid: Solid,
    /// Triangles that boxes and clearances start from.
    coarse: OnceLock<Result<SolidMesh, SolidError>>,
    bounds: OnceLock<(DVec3, DVec3)>,
    properties: OnceLock<Properties>,
}

impl Formed {
    /// Builds the solid and divides it into coarse triangles, so that a body that cannot be made, or not be divided at
    /// all, fails here and not when a file is asked for. (A file may ask for finer triangles than that.)
    pub(super) fn new(part: Part) -> Result<Self, SolidError> {
        let formed = Self::undivided(part)?;
        formed.coarse()?;
        Ok(formed)
    }

    fn undivided(part: Part) -> Result<Self, SolidError> {
        let solid = build(&part.shape)?;
        Ok(Self {
            part,
            solid,
            coarse: OnceLock::new(),
            bounds: OnceLock::new(),
            properties: OnceLock::new(),
        })
    }

    fn coarse(&self) -> Result<&SolidMesh, SolidError> {
        self.coarse
            .get_or_init(|| mesh(&self.solid, SEARCH_CHORD))
            .as_ref()
            .map_err(SolidError::clone)
    }

    /// Corners of the box round the part, mm.
    ///
    /// # Errors
    ///
    /// A face that cannot be divided.
    pub fn bounds(&self) -> Result<(DVec3, DVec3), SolidError> {
        let coarse = self.coarse()?;
        Ok(*self.bounds.get_or_init(|| bounds(coarse)))
    }

    /// Volume, area and centroid, computed once.
    pub fn properties(&self) -> &Properties {
        self.properties.get_or_init(|| properties(&self.solid))
    }

    /// Triangles within a chord in millimetres of the surfaces.
    ///
    /// # Errors
    ///
    /// A face that cannot be divided at this chord.
    pub fn mesh(&self, chord: f64) -> Result<SolidMesh, SolidError> {
        // The page draws what is moved from the very triangles that its clearances start from.
        if chord.to_bits() == SEARCH_CHORD.to_bits() {
            return self.coarse().cloned();
        }
        mesh(&self.solid, chord)
    }

    /// Colour of the metal, sRGB; a keep-out's is no metal's.
    pub fn colour_srgb(&self) -> [u8; 3] {
        self.part.metal.map_or(KEEPOUT_COLOUR, |metal| metal.colour_srgb())
    }

    /// Mass in grams by the metal's density; 0 for a keep-out.
    pub fn mass_g(&self) -> f64 {
        let density = self.part.metal.map_or(0.0, |metal| metal.density_g_cm3());
        // mm³ to cm³.
        self.properties().volume * density / 1000.0
    }
}

/// A part of the clearance list: its solid, and what its distances to others are measured by.
#[derive(Debug)]
pub struct Built {
    formed: Formed,
    pub field: DistanceField,
    samples: OnceLock<(SurfaceSamples, Option<SolidError>)>,
}

impl Built {
    pub(super) fn new(part: Part) -> Result<Self, SolidError> {
        let built = Self::of(Formed::undivided(part)?);
        built.samples();
        match built.indivisible() {
            Some(error) => Err(error.clone()),
            None => Ok(built),
        }
    }

    /// A part that is measured by its undrilled form: its own surface is only cut into pieces when it is
    /// asked for, which a part that is moved by hand need not wait for. Whoever asks for it must ask too
    /// whether it could be cut.
    pub(super) fn drilled(part: Part) -> Result<Self, SolidError> {
        Ok(Self::of(Formed::undivided(part)?))
    }

    fn of(formed: Formed) -> Self {
        let field = DistanceField::new(&formed.part.shape);
        Self { formed, field, samples: OnceLock::new() }
    }

    /// The true surface in small pieces. Of a drilled part that cannot be divided there is none:
    /// [`Self::indivisible`] says why.
    pub fn samples(&self) -> &SurfaceSamples {
        &self.cut().0
    }

    /// Why there is no surface, if it was asked for and there is none.
    pub(super) fn indivisible(&self) -> Option<&SolidError> {
        self.samples.get()?.1.as_ref()
    }

    fn cut(&self) -> &(SurfaceSamples, Option<SolidError>) {
        self.samples.get_or_init(|| {
            let coarse = self.coarse();
            match coarse.and_then(|coarse| SurfaceSamples::new(&self.solid, coarse)) {
                Ok(samples) => (samples, None),
                Err(error) => (SurfaceSamples::default(), Some(error)),
            }
        })
    }

    /// A part whose surface cannot be divided, as rules should let no part come to be.
    #[cfg(test)]
    pub(super) fn drilled_indivisible(part: Part) -> Result<Self, SolidError> {
        let built = Self::drilled(part)?;
        let _ = built.formed.coarse.set(Err(SolidError::new("a test", "it is not to be divided")));
        Ok(built)
    }
}

/// Whatever can be asked of a formed part can be asked of one in the list.
impl Deref for Built {
    type Target = Formed;

    fn deref(&self) -> &Formed {
        &self.formed
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::parts::build_from_text;

    const ALTO: &str = include_str!("../../../examples/jobs/alto.json");

    /// The triangles that are there already are the ones that would be made.
    #[test]
    fn the_chord_that_clearances_start_from_gives_the_same_triangles_as_a_mesh_made_anew() {
        let read = build_from_text(ALTO).expect("a job");
        for part in &read.assembly.parts {
            let formed = Formed::new(part.clone()).expect("a solid");
            let [kept, anew] =
                [formed.mesh(SEARCH_CHORD), mesh(&formed.solid, SEARCH_CHORD)].map(|mesh| {
                    let mesh = mesh.expect("triangles");
                    (mesh.positions().collect::<Vec<_>>(), mesh.triangles().collect::<Vec<_>>())
                });
            assert_eq!(kept, anew, "{}", part.id);
        }
    }
}
