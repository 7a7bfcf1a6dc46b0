//! An HTML page by itself.

use super::document::Audit;
use super::read::Unreadable;

/// Looks at a page: its text against its record.
pub(super) fn audit(_bytes: &[u8]) -> Result<Audit, Unreadable> {
    Err(Unreadable::Unknown)
}
