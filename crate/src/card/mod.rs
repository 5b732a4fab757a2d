//! The maker's numbers and the job card: what is gauged, ordered, heated, drilled, bent and weighed, and the paper it stands on.
//!
//! Every number is a [`Number`]: with unit, tolerance and source, or with the reason why it is not known.

pub mod as_made;
pub mod beam;
pub mod bent_parts;
pub mod card_file;
pub mod cautions;
pub mod dimensions;
pub mod gauged_tenon;
pub mod hammering;
pub mod heat_order;
pub mod holes;
mod job_card;
pub mod masses;
mod means;
pub mod metal_table;
pub mod numbers;
pub mod order_of_work;
pub mod pull_down;
pub mod sheet;
pub mod tight_rows;
pub mod vent_area;
pub mod wall;

pub use card_file::CardFile;
pub use job_card::{FORMAT, JobCard};
pub use numbers::Number;
