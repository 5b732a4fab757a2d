//! The half shells laid flat: the blanks from which the neck is formed, what forming costs them, templates to form by, and
//! how blanks lie on a sheet.

mod banded;
pub mod blank;
pub mod costs;
pub mod flatten;
pub mod gauges;
pub mod half_shell;
pub mod lay;
pub mod lay_report;
pub mod order;
mod order_files;
pub mod outline;
pub mod share;
pub mod sheet_file;
pub mod strain_file;
pub mod surface;
