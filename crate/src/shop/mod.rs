//! What leaves the shop: files a cutting shop and a machine shop take without asking back.

pub mod checked;
pub mod drawings;
mod file_name;
pub mod flat;
pub mod heading;
mod order;
mod package;
mod packing_list;
mod preview;
pub mod request;

pub use file_name::{file_name_fault, file_stem};
pub use order::{Line, Order, order, usual_temper};
pub use package::{FORCE, Package, PackageError, package};
pub use packing_list::{PackedFile, PackingList};
pub use preview::preview;
pub use request::Request;
