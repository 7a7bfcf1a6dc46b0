//! Whether what was issued stands: a document, its register, a folder of thousands.
//!
//! Comes in: the bytes of documents, a register, hashes kept elsewhere and keys that are trusted. Goes out: a verdict on each
//! document with every fault, what is wrong with the register, and what was at hand to prove it. Next: [`crate::commands`].
//!
//! ```text
//! register ─audit─▶ Ledger ──┐
//! bytes ───present─▶ Presented ─judge─▶ Answer
//! ```

mod answer;
mod presented;
mod register;

pub use answer::{Answer, AtHand, Verdict, judge};
pub use presented::{Presented, present};
pub use register::{Asked, Broken, FoundSignature, Kept, Lack, Ledger, Place, Seen, SignatureFault, Vouched, Voucher};
