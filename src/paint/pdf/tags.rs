//! Tags: to which part of which block a piece of a page belongs.
//!
//! Comes in: a block's place in the reading order. Goes out: a [`Tag`] for each of its pieces. Next: [`super::slab`], which
//! bears them, and [`super::structure`], which makes the tree of them.

use crate::document::Block;

/// To which part of which block something on a page belongs. Tags in their order are the document in reading order.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Tag {
    /// Place of the block in the reading order.
    pub block: u32,
    /// Part of the block: see [`super::structure`] for each kind of block.
    pub part: u32,
}

/// The place before all blocks: what the first page bears above them, and the title.
const FRONT: u32 = 0;
/// The place of the first block.
pub const FIRST: u32 = 1;
/// The place behind all blocks: the footer of the last page.
const BACK: u32 = u32::MAX;

impl Tag {
    /// Name of the firm.
    pub const BRAND: Tag = Tag { block: FRONT, part: 0 };
    /// Address and what else stands below the name.
    pub const ADDRESS: Tag = Tag { block: FRONT, part: 1 };
    /// Number of the document.
    pub const NUMBER: Tag = Tag { block: FRONT, part: 2 };
    /// Day of issue and page.
    pub const ISSUED: Tag = Tag { block: FRONT, part: 3 };
    /// Draft mark.
    pub const DRAFT: Tag = Tag { block: FRONT, part: 4 };
    /// Title.
    pub const TITLE: Tag = Tag { block: FRONT, part: 5 };
    /// What the document is about.
    pub const SUBTITLE: Tag = Tag { block: FRONT, part: 6 };
    /// Footer on the left.
    pub const FOOT_LEFT: Tag = Tag { block: BACK, part: 0 };
    /// Footer on the right.
    pub const FOOT_RIGHT: Tag = Tag { block: BACK, part: 1 };
}

/// How many places in the reading order a block takes: its own and those of the blocks in it.
pub fn places(block: &Block) -> u32 {
    match block {
        Block::Columns(columns) => 1 + columns.iter().flat_map(|column| &column.blocks).map(places).sum::<u32>(),
        Block::Heading(_)
        | Block::Facts(_)
        | Block::Verdict(_)
        | Block::Figure(_)
        | Block::Table(_)
        | Block::Paragraph(_)
        | Block::List(_)
        | Block::Caution(_)
        | Block::Signatures(_)
        | Block::Rule
        | Block::EndMark(_) => 1,
    }
}
