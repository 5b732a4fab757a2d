//! Bytes out: STEP, STL, 3MF, sheets of paper, archives and the summary of the parts. Nothing is decided here.

pub mod archive;
pub mod clearance_report;
pub mod outline_file;
pub mod paper;
pub mod step;
pub mod stl;
pub mod summary;
pub mod three_mf;
