//! Books and pages that several tables go by.

use super::{Source, Status};

pub(super) const CDA: Source =
    Source { title: "Copper Development Association, alloy page", status: Status::Memory };
pub(super) const STAINLESS: Source =
    Source { title: "handbook value for 18-8 stainless steel", status: Status::Memory };
pub(super) const STERLING: Source =
    Source { title: "material page \"Silver - Sterling\"", status: Status::Read };
pub(super) const STOCK_PAGE: Source =
    Source { title: "stock page of alloy 268, ASTM B36", status: Status::Read };
