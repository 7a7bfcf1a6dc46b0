//! Whether what was issued stands: a document by itself, by its register, a folder of thousands.
//!
//! Comes in: the bytes of documents, a register, hashes kept elsewhere and keys that are trusted. Goes out: a verdict on each
//! document with every fault, what is wrong with the register, and what was at hand to prove it. Next: [`crate::commands`].
//!
//! ```text
//! register ─audit─▶ Ledger ──┐
//! bytes ─document─▶ Audit ─present─▶ Presented ─judge─▶ Answer
//! ```

mod answer;
mod document;
mod fault;
mod file;
mod page;
mod pages;
mod presented;
mod read;
mod records;
mod register;
mod syntax;
mod text;
mod unicode;

pub use answer::{Answer, AtHand, Verdict, judge};
pub use document::{Audit, Bench, Extent, document};
pub use fault::{Fault, Note};
pub use presented::{Presented, carries_record, present};
pub use read::Unreadable;
pub use register::{Asked, Broken, FoundSignature, Kept, Lack, Ledger, Place, Seen, SignatureFault, Vouched, Voucher};
