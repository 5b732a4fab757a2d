//! The files of a model: what `export_job` writes and the page hands out, from one place.

use glam::DVec3;
use thiserror::Error;

use crate::exports::step::{
    Protocol, StepError, StepHeader, StepMaterial, StepPart, write_assembly, write_part,
};
use crate::exports::stl::{StlError, write_stl};
use crate::exports::summary::{PartSummary, Summary, SummaryError};
use crate::geometry::motion::Motion;
use crate::solids::SolidError;
use crate::solids::brep::{Solid, moved};
use crate::solids::mesh::{SolidMesh, mesh};
use crate::solids::properties::{Properties, bounds};
use crate::tables::metals::Metal;

use super::built::SEARCH_CHORD;
use super::{Formed, Model};

/// Finest and coarsest chord a caller may ask for, mm.
const CHORD_RANGE: (f64, f64) = (0.002, 1.0);

/// Time stamp of every STEP file: the bytes follow from the job alone, so no clock is read.
const TIME_STAMP: &str = "2026-01-01T00:00:00";

/// Said in every STEP header, so that nobody takes the stamp for a date.
const STAMP_NOTE: &str = "time stamp fixed, see the revision";

/// Why a file could not be written.
#[derive(Debug, Error)]
pub enum FileError {
    #[error("there is no part \"{0}\"")]
    UnknownPart(String),
    #[error("a chord of {0} mm is asked for; 0.002 to 1 mm is allowed")]
    Chord(f64),
    #[error("{part}: {error}")]
    Solid { part: &'static str, error: SolidError },
    #[error(transparent)]
    Step(#[from] StepError),
    #[error(transparent)]
    Stl(#[from] StlError),
    #[error(transparent)]
    Summary(#[from] SummaryError),
}

/// The files of a model with the key in one position.
#[derive(Debug)]
pub struct Files<'a> {
    model: &'a Model,
    motion: Motion,
    protocol: Protocol,
}

impl<'a> Files<'a> {
    /// Files with the key turned open by `key_angle` radians (0 is closed).
    pub fn new(model: &'a Model, key_angle: f64) -> Self {
        let hinge = &model.assembly.hinge;
        let motion = if key_angle == 0.0 {
            Motion::NONE
        } else {
            Motion::about(hinge.point, hinge.direction, key_angle)
        };
        Self { model, motion, protocol: Protocol::default() }
    }

    /// The same files with their STEP in another protocol.
    #[must_use]
    pub fn with_protocol(self, protocol: Protocol) -> Self {
        Self { protocol, ..self }
    }

    /// The whole neck as a STEP assembly of its parts: no keep-outs, the tube in one piece.
    pub fn assembly_step(&self) -> Result<Vec<u8>, FileError> {
        let all: Vec<&Formed> = self.model.parts().iter().map(|built| &***built).collect();
        self.step_of(&all, "assembly.step", &self.neck_name())
    }

    /// Some parts of the neck in their places as a STEP assembly, under a file name and a name of its product.
    pub fn step_of(
        &self,
        parts: &[&Formed],
        file_name: &str,
        name: &str,
    ) -> Result<Vec<u8>, FileError> {
        let placed: Vec<Placed<'_>> = parts.iter().map(|formed| self.placed(formed)).collect();
        let parts: Vec<StepPart<'_>> = placed.iter().map(Placed::step_part).collect();
        let description = format!("{name}; {STAMP_NOTE}");
        Ok(write_assembly(&self.header(file_name, &description), name, &parts)?)
    }

    /// One part, keep-out or half as a STEP file.
    pub fn part_step(&self, id: &str) -> Result<Vec<u8>, FileError> {
        self.part_step_named(id, &format!("{id}.step"))
    }

    /// One part, keep-out or half as a STEP file that calls itself by a name.
    pub fn part_step_named(&self, id: &str, file_name: &str) -> Result<Vec<u8>, FileError> {
        let placed = self.placed(self.model.find(id)?);
        let part = placed.step_part();
        let description = format!("{}, {}; {STAMP_NOTE}", part.name, self.neck_name());
        Ok(write_part(&self.header(file_name, &description), &part)?)
    }

    /// One part as a binary STL file, its triangles within `chord` millimetres of the surfaces.
    pub fn part_stl(&self, id: &str, chord: f64) -> Result<Vec<u8>, FileError> {
        let (positions, triangles) = self.triangles(self.model.find(id)?, chord)?;
        Ok(write_stl(id, chord, &positions, &triangles)?)
    }

    /// Points and triangles of a part where it stands, within `chord` millimetres of the surfaces.
    pub fn triangles(
        &self,
        formed: &Formed,
        chord: f64,
    ) -> Result<(Vec<DVec3>, Vec<[u32; 3]>), FileError> {
        let mesh = triangles(formed, chord)?;
        let motion = self.motion_of(formed);
        Ok((
            mesh.positions().map(|point| motion.point(point)).collect(),
            mesh.triangles().collect(),
        ))
    }

    /// Volume, area, mass, centroid and box of every part.
    pub fn summary(&self) -> Result<Summary, FileError> {
        let mut rows = Vec::new();
        for built in self.model.parts() {
            // Only keep-outs have no metal, and they are not in the summary.
            let Some(metal) = built.part.metal else { continue };
            let properties = built.properties();
            let (low, high) = self.bounds(built)?;
            rows.push(PartSummary {
                id: built.part.id.to_string(),
                name: built.part.name.to_string(),
                metal,
                made_by: built.part.made_by.to_string(),
                moves_with_key: built.part.moves_with_key,
                volume_mm3: properties.volume,
                area_mm2: properties.area,
                mass_g: built.mass_g(),
                centroid_mm: self.motion_of(built).point(properties.centroid).to_array(),
                bbox_mm: [low.to_array(), high.to_array()],
            });
        }
        Ok(Summary::new(rows)?)
    }

    fn motion_of(&self, formed: &Formed) -> Motion {
        if formed.part.moves_with_key { self.motion } else { Motion::NONE }
    }

    fn solid_of(&self, formed: &Formed) -> Solid {
        let motion = self.motion_of(formed);
        if motion == Motion::NONE { formed.solid.clone() } else { moved(&formed.solid, &motion) }
    }

    fn placed<'b>(&self, formed: &'b Formed) -> Placed<'b> {
        let still = *formed.properties();
        let centroid = self.motion_of(formed).point(still.centroid);
        Placed {
            formed,
            solid: self.solid_of(formed),
            properties: Properties { centroid, ..still },
            description: described(formed, &self.neck_name()),
            composition: formed.part.metal.map(composition).unwrap_or_default(),
        }
    }

    fn bounds(&self, formed: &Formed) -> Result<(DVec3, DVec3), FileError> {
        let found = if self.motion_of(formed) == Motion::NONE {
            formed.bounds()
        } else {
            mesh(&self.solid_of(formed), SEARCH_CHORD).map(|mesh| bounds(&mesh))
        };
        found.map_err(|error| FileError::Solid { part: formed.part.id, error })
    }

    /// How many parts the whole neck has.
    pub fn part_count(&self) -> usize {
        self.model.parts().len()
    }

    /// Order, serial and revision in words.
    pub fn neck_name(&self) -> String {
        let order = &self.model.job.order;
        format!("Neck {} serial {} revision {}", order.number, order.serial, order.revision)
    }

    fn header<'b>(&'b self, file_name: &'b str, description: &'b str) -> StepHeader<'b> {
        StepHeader {
            file_name,
            description,
            time_stamp: TIME_STAMP,
            author: "",
            organization: "",
            originating_system: concat!("neckwright ", env!("CARGO_PKG_VERSION")),
            authorization: "",
            protocol: self.protocol,
            revision: &self.model.job.order.revision,
        }
    }
}

/// Triangles of a part as it stands with the key closed; a chord out of range is refused, not replaced.
pub(super) fn triangles(formed: &Formed, chord: f64) -> Result<SolidMesh, FileError> {
    let (finest, coarsest) = CHORD_RANGE;
    if !(finest..=coarsest).contains(&chord) {
        return Err(FileError::Chord(chord));
    }
    formed.mesh(chord).map_err(|error| FileError::Solid { part: formed.part.id, error })
}

/// A part where it stands in a file.
struct Placed<'a> {
    formed: &'a Formed,
    solid: Solid,
    properties: Properties,
    description: String,
    composition: String,
}

impl Placed<'_> {
    fn step_part(&self) -> StepPart<'_> {
        let part = &self.formed.part;
        StepPart {
            id: part.id,
            name: part.name,
            description: &self.description,
            solid: &self.solid,
            properties: self.properties,
            material: part.metal.map(|metal| StepMaterial {
                designation: metal.id(),
                description: &self.composition,
                density_g_cm3: metal.density_g_cm3(),
            }),
            colour_srgb: self.formed.colour_srgb().map(|channel| f64::from(channel) / 255.0),
        }
    }
}

fn described(formed: &Formed, neck: &str) -> String {
    let part = &formed.part;
    match part.metal {
        Some(metal) => format!("{}, {} {}; {neck}", part.made_by, metal.id(), metal.name()),
        None => format!("{}; {neck}", part.made_by),
    }
}

fn composition(metal: Metal) -> String {
    format!("{}: {}", metal.name(), metal.composition())
}
