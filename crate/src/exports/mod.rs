//! Bytes out: STEP, STL and the summary of the parts. Nothing is decided here.

pub mod clearance_report;
pub mod outline_file;
pub mod paper;
pub mod step;
pub mod stl;
pub mod summary;
