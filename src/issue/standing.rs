//! Documents that the register knows: whether their files stand as they were issued, and what is missing made again.

use super::desk::{Desk, Done, Fate, Hindrance, Made};
use super::restore::restored;
use super::write::paths;
use super::{Refused, lines, sheet, write};
use crate::register::{End, Entry, Issued, Opened, Standing, Trouble, hash_of};
use std::path::Path;

impl Desk<'_> {
    /// Sees that a document of the register stands in the folder: what is missing is made again from the archive. With its
    /// `issued` line where it has none.
    pub(super) fn stands(&self, number: &str) -> Result<Made, Trouble> {
        let Some(standing) = self.register.index().standing(number) else {
            return Ok(Err(Hindrance::Lost(number.to_owned(), "the register does not know it".to_owned())));
        };
        let (opened, hash) = self.register.opened(standing)?;
        let issued = match self.register.end(standing)? {
            Some(Entry::Issued(issued)) => Some(issued),
            _ => None,
        };
        Ok(self.seen(&opened, &hash, issued, standing))
    }

    fn seen(&self, opened: &Opened, hash: &str, issued: Option<Issued>, standing: Standing) -> Made {
        let (number, stem, is_draft) = (&opened.number, &opened.file, opened.draft);
        let done = |fate| Done { number: number.clone(), stem: stem.clone(), fate, is_draft };
        let lost = |reason: String| Hindrance::Lost(opened.number.clone(), reason);
        if let Some(issued) = &issued
            && as_issued(self.out, &opened.file, issued)?
        {
            return Ok((done(Fate::AlreadyIssued), None));
        }
        let document = restored(opened, hash, &self.register.archive, &self.shelf).map_err(lost)?;
        let sheet = sheet(&document, opened.file.clone(), self.press);
        let made = lines::issued(&sheet);
        if issued.is_some_and(|issued| issued != made) {
            return Err(lost("painted again it is not what was registered: nothing was written".to_owned()));
        }
        write(self.out, &sheet)?;
        match standing.end {
            End::Pending => Ok((done(Fate::Finished), Some(made))),
            End::Issued(_) | End::Void(_) => Ok((done(Fate::PaintedAgain), None)),
        }
    }
}

impl From<Refused> for Hindrance {
    fn from(refused: Refused) -> Hindrance {
        match refused {
            Refused::Different(path) => Hindrance::Different(path),
            Refused::Unwritable(path, error) => Hindrance::Unwritable(path, error),
        }
    }
}

/// Whether both files stand as they were issued; `false` where one is missing.
pub(super) fn as_issued(out: &Path, stem: &str, issued: &Issued) -> Result<bool, Hindrance> {
    let mut all = true;
    for (path, hash) in paths(out, stem).into_iter().zip([&issued.pdf, &issued.html]) {
        match std::fs::read(&path) {
            Ok(bytes) if hash_of(&bytes) == *hash => {}
            Ok(_) => return Err(Hindrance::Altered(path)),
            Err(error) if error.kind() == std::io::ErrorKind::NotFound => all = false,
            Err(error) => return Err(Hindrance::Unwritable(path, error)),
        }
    }
    Ok(all)
}
