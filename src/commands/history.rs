//! `history`: a loop or a probe over time, from the register.

mod pages;
mod sheet;
mod told;

use super::check::exit_code;
use super::lookup::{self, Format};
use super::table::Style;
use super::{REFUSED, print, selected, tell};
use crate::past::{Roll, Wanted, courses, roll};
use crate::record::Course;
use crate::register::{Selection, Trouble, View};
use chrono::NaiveDate;
use clap::Args;
use pages::{Pages, Unwritten};
use std::collections::BTreeSet;
use std::io::IsTerminal;
use std::path::PathBuf;

/// Arguments of `history`.
#[derive(Debug, Args)]
pub struct History {
    /// Tags of loops, or serials of probes (default: every loop)
    #[arg(value_name = "TAG|SERIAL")]
    names: Vec<String>,
    /// Only loops of this client
    #[arg(long, value_name = "NAME")]
    client: Vec<String>,
    /// A loop by its tag
    #[arg(long, value_name = "TAG")]
    tag: Vec<String>,
    /// A probe by its serial number, whatever loops it served
    #[arg(long, value_name = "SERIAL")]
    serial: Vec<String>,
    /// Only visits from this day on
    #[arg(long, value_name = "DATE", value_parser = lookup::day)]
    from: Option<NaiveDate>,
    /// Only visits up to this day
    #[arg(long, value_name = "DATE", value_parser = lookup::day)]
    to: Option<NaiveDate>,
    /// Folder of the register (default: certificates/register)
    #[arg(long, value_name = "FOLDER")]
    register: Option<PathBuf>,
    /// Write a page with charts (PDF and HTML) for each loop or probe into this folder
    #[arg(long, value_name = "FOLDER")]
    out: Option<PathBuf>,
    /// What to print
    #[arg(long, value_enum, default_value_t = Format::Text)]
    format: Format,
    /// Print problems only
    #[arg(long, short)]
    quiet: bool,
}

/// Runs `history`.
pub fn run(order: &History) -> u8 {
    let folder = lookup::register_folder(order.register.as_deref());
    let view = match selected::open(&folder) {
        Ok(view) => view,
        Err(code) => return code,
    };
    tell_all(order, &view).unwrap_or_else(|trouble| selected::tell_trouble(&trouble))
}

fn tell_all(order: &History, view: &View) -> Result<u8, Trouble> {
    let selection = Selection { clients: order.client.clone(), from: order.from, to: order.to, ..Selection::default() };
    let roll = roll(view, &selection)?;
    if lookup::tell_unknown_clients(&roll, &order.client) {
        return Ok(REFUSED);
    }
    if order.format == Format::Csv && !order.quiet {
        print(&sheet::head());
    }
    let style = Style::of_terminal(std::io::stdout().is_terminal());
    let pages = order.out.as_deref().map(Pages::new);
    let mut teller =
        Teller { order, style, pages, told: BTreeSet::new(), refused: false, no_access: false, trouble: None };
    let lost = courses(view, &roll, &wanted(order, &roll), |course| teller.tell(view, &roll, &course));
    if let Some(trouble) = teller.trouble {
        return Err(trouble);
    }
    let is_lost = lookup::tell_lost(&lost);
    let is_missing = tell_missing(order, &roll, &teller.told);
    Ok(exit_code(teller.refused || is_lost || is_missing, teller.no_access))
}

/// Tells courses one after the other, and keeps in mind which.
struct Teller<'o> {
    order: &'o History,
    style: Style,
    pages: Option<Pages<'o>>,
    /// Tags and serials told.
    told: BTreeSet<String>,
    refused: bool,
    no_access: bool,
    trouble: Option<Trouble>,
}

impl Teller<'_> {
    fn tell(&mut self, view: &View, roll: &Roll, course: &Course) {
        self.told.extend(course.tag.iter().chain(&course.serial).cloned());
        if !self.order.quiet {
            print(&shown(course, self.order.format, self.style));
        }
        let is_stopped = self.no_access || self.trouble.is_some();
        let Some(pages) = self.pages.as_ref().filter(|_| !is_stopped) else { return };
        match pages.write(view, roll, course) {
            Ok(path) if !self.order.quiet && self.order.format == Format::Text => {
                print(&format!("written  {}\n", path.display()));
            }
            Ok(_) => {}
            Err(Unwritten::Register(found)) => self.trouble = Some(found),
            Err(Unwritten::NoAccess(why)) => {
                self.no_access = true;
                tell(&format!("halfcell: {why}\n"));
            }
            Err(Unwritten::Refused(why)) => {
                self.refused = true;
                tell(&format!("halfcell: {why}\n"));
            }
        }
    }
}

fn shown(course: &Course, format: Format, style: Style) -> String {
    match format {
        Format::Text => told::course(course, style),
        Format::Json => serde_json::to_string(course).expect("a course has text keys and finite numbers only") + "\n",
        Format::Csv => sheet::rows(course),
    }
}

/// A name is that of a loop, of a probe, or of both; one that is no tag may be a serial that no line names.
fn wanted(order: &History, roll: &Roll) -> Wanted {
    let (mut tags, mut serials) = (order.tag.clone(), order.serial.clone());
    for name in &order.names {
        let is_tag = roll.tags.contains(name);
        if is_tag {
            tags.push(name.clone());
        }
        if !is_tag || roll.serials.contains(name) {
            serials.push(name.clone());
        }
    }
    for names in [&mut tags, &mut serials] {
        names.sort();
        names.dedup();
    }
    Wanted { tags, serials }
}

/// Tells what was asked for and is not there. Whether there is any.
fn tell_missing(order: &History, roll: &Roll, told: &BTreeSet<String>) -> bool {
    let everything = || roll.tags.iter().chain(&roll.serials).map(String::as_str);
    let mut is_missing = false;
    let asked = [("loop", &order.tag), ("probe", &order.serial), ("loop or probe", &order.names)];
    for (what, name) in asked.iter().flat_map(|(what, names)| names.iter().map(move |name| (*what, name))) {
        let (in_tags, in_serials) = (roll.tags.contains(name), roll.serials.contains(name));
        match what {
            _ if told.contains(name) => continue,
            "loop" if !in_tags => lookup::tell_unknown(what, name, roll.tags.iter().map(String::as_str)),
            "probe" if !in_serials => lookup::tell_unknown(what, name, roll.serials.iter().map(String::as_str)),
            "loop or probe" if !in_tags && !in_serials => lookup::tell_unknown(what, name, everything()),
            _ => tell(&format!("halfcell: no visit of {what} «{name}» is among those asked for\n")),
        }
        is_missing = true;
    }
    if told.is_empty() && !is_missing {
        tell("halfcell: the register has no visit among those asked for\n");
        is_missing = true;
    }
    is_missing
}
