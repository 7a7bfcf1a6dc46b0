//! The chart page of a course as PDF and HTML, in the brand of the firm that issued its last document.

use crate::document::{DrawnFrom, course as compose};
use crate::issue::{Refused, Sheet, stem, write};
use crate::paint::pdf::Press;
use crate::paint::{Paintable, html, pdf};
use crate::past::{Roll, firm_of, line_of};
use crate::record::Course;
use crate::register::{Trouble, View};
use std::path::{Path, PathBuf};

/// A folder for pages.
pub struct Pages<'o> {
    folder: &'o Path,
    press: Press,
}

/// Why a page was not written.
pub enum Unwritten {
    /// The register cannot be read on.
    Register(Trouble),
    /// The folder cannot be written.
    NoAccess(String),
    /// Another page stands there, or a character has no glyph.
    Refused(String),
}

impl<'o> Pages<'o> {
    pub fn new(folder: &'o Path) -> Self {
        Pages { folder, press: Press::new() }
    }

    /// Writes the page of a course. Gives the path of its PDF.
    pub fn write(&self, view: &View, roll: &Roll, course: &Course) -> Result<PathBuf, Unwritten> {
        let last = course.visits.last().map(|visit| visit.document.clone()).unwrap_or_default();
        let line = line_of(view, &last).map_err(Unwritten::Register)?;
        let Some((opened, line)) = line else {
            return Err(Unwritten::Refused(format!("{last} has no line in the register")));
        };
        let data = serde_json::to_string(course).expect("a course has text keys and finite numbers only");
        let from = DrawnFrom { document: last, line, issued: opened.issued.clone(), data };
        let document = Paintable::new(compose(course, &firm_of(view, &opened), &from));
        if let Some((character, text)) = document.missing().first() {
            let code = u32::from(*character);
            return Err(Unwritten::Refused(format!(
                "no font has «{character}» (U+{code:04X}) in «{text}»: no page is drawn"
            )));
        }
        let name = stem(&name(roll, course));
        let sheet = Sheet {
            number: document.document().number.clone(),
            pdf: pdf::paint(&document, &self.press),
            html: html::paint(&document),
            stem: name.clone(),
        };
        match write(self.folder, &sheet) {
            Ok(_) => Ok(self.folder.join(format!("{name}.pdf"))),
            Err(Refused::Unwritable(path, error)) => Err(Unwritten::NoAccess(format!("{}: {error}", path.display()))),
            Err(Refused::Different(path)) => Err(Unwritten::Refused(format!(
                "{} stands there with other content and is not overwritten: move it elsewhere, or name another folder \
                 with --out",
                path.display()
            ))),
        }
    }
}

/// `history-AT-118-2026-06-16`, the day of the last visit; with the client where several have a loop of that tag.
fn name(roll: &Roll, course: &Course) -> String {
    let name = course.tag.as_ref().or(course.serial.as_ref()).cloned().unwrap_or_default();
    let is_probe = course.serial.is_some();
    let shared = is_probe || roll.loops.keys().filter(|(_, tag)| *tag == name).count() > 1;
    let client = if shared { format!("{}-", course.client) } else { String::new() };
    let what = if is_probe { "probe-" } else { "" };
    let day = course.visits.last().map(|visit| visit.date.as_str()).unwrap_or_default();
    // A tag may hold what no file name may: it stays readable, and the whole name is made legal by its hash where it must.
    format!("history-{client}{what}{name}-{day}")
}
