//! The boundary to JavaScript: one class a question, flat results, one error conversion.
//!
//! Nothing is kept outside the class, and nothing is drawn: a page or a script passes a job in
//! and takes results out. TypeScript types come from the Rust types. Four modules are built of the crate: the
//! page's core, which every visitor waits for, the shop's, which only those load who send something out, that of the bore,
//! for those who compare two, and that of the job card.

#[cfg(feature = "shop")]
mod blanks;
#[cfg(all(feature = "bore", not(feature = "shop")))]
mod bore;
#[cfg(all(feature = "card", not(any(feature = "shop", feature = "bore"))))]
mod card;
mod handing_over;
#[cfg(not(any(feature = "shop", feature = "bore", feature = "card")))]
mod helper;
#[cfg(not(any(feature = "shop", feature = "bore", feature = "card")))]
mod neck;
#[cfg(feature = "shop")]
mod shop;

#[cfg(feature = "shop")]
pub use blanks::*;
#[cfg(all(feature = "bore", not(feature = "shop")))]
pub use bore::*;
#[cfg(all(feature = "card", not(any(feature = "shop", feature = "bore"))))]
pub use card::*;
#[cfg(not(any(feature = "shop", feature = "bore", feature = "card")))]
pub use helper::*;
#[cfg(not(any(feature = "shop", feature = "bore", feature = "card")))]
pub use neck::*;
#[cfg(feature = "shop")]
pub use shop::*;
