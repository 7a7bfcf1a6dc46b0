//! Where the history of a loop comes from: the other visit files of the same run, and those beside a visit.
//!
//! It also sees who was where over the files of the run.
//!
//! Each file is opened once where the files stand in the order of their dates, as dated names do; what is kept of it are a
//! few points a loop. A look at the text ([`glance`]) tells which files can matter, so that a folder of thousands costs little.

use super::files::{self, is_visit_file};
use super::tell;
use crate::problem::Problem;
use crate::record::{Point, SourceFacts};
use crate::requirements::{Presence, Reviewed, Weighed, clashes, presences, review_among, weigh};
use crate::visit::{Given, Glance, Visit, glance, open};
use chrono::{DateTime, FixedOffset};
use std::borrow::Cow;
use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};
use std::sync::{Mutex, OnceLock, PoisonError};

/// The visit files of a run and those beside them.
pub struct Earlier<'g> {
    given: &'g Given,
    entries: Vec<Entry>,
    /// Positions of the files that can hold a tag, by what [`Glance::key`] gives for it.
    by_tag: BTreeMap<String, Vec<usize>>,
    /// Positions of the files that can hold any tag.
    of_any_tag: Vec<usize>,
    positions: BTreeMap<PathBuf, usize>,
    left_out: Mutex<BTreeSet<(PathBuf, String)>>,
    present: Mutex<Vec<Presence>>,
}

/// One file.
struct Entry {
    path: PathBuf,
    folder: PathBuf,
    /// Named on the command line, by itself or by its folder: every visit of the run may use it.
    is_given: bool,
    started: Option<DateTime<FixedOffset>>,
    found: OnceLock<Result<Vec<Point>, String>>,
}

impl<'g> Earlier<'g> {
    /// Looks at every file of the run and at those beside them.
    pub fn among(visits: &[PathBuf], given: &'g Given) -> Self {
        let mut earlier = Earlier {
            given,
            entries: Vec::new(),
            by_tag: BTreeMap::new(),
            of_any_tag: Vec::new(),
            positions: BTreeMap::new(),
            left_out: Mutex::default(),
            present: Mutex::default(),
        };
        let mut folders = BTreeMap::new();
        for path in visits {
            let folder = path.parent().unwrap_or(Path::new(""));
            let real = folders.entry(folder.to_owned()).or_insert_with(|| files::real(folder)).clone();
            earlier.add(path, real, true, glance(&std::fs::read(path).unwrap_or_default()));
        }
        let known: BTreeSet<PathBuf> = visits.iter().map(|path| files::real(path)).collect();
        let mut seen = BTreeSet::new();
        for (folder, real) in folders {
            if seen.insert(real.clone()) {
                earlier.add_those_beside(&folder, &real, &known);
            }
        }
        earlier
    }

    /// Files of a folder that are not part of the run. A file that cannot be read is told when it is asked for.
    fn add_those_beside(&mut self, folder: &Path, real: &Path, known: &BTreeSet<PathBuf>) {
        for path in files::yaml_files(folder).unwrap_or_default() {
            if known.contains(&files::real(&path)) {
                continue;
            }
            match std::fs::read(&path) {
                Ok(bytes) if !is_visit_file(&bytes) => {}
                Ok(bytes) => self.add(&path, real.to_owned(), false, glance(&bytes)),
                Err(_) => self.add(&path, real.to_owned(), false, Glance::default()),
            }
        }
    }

    fn add(&mut self, path: &Path, folder: PathBuf, is_given: bool, glance: Glance) {
        let position = self.entries.len();
        match glance.tags {
            Some(tags) => {
                for tag in tags {
                    let positions = self.by_tag.entry(tag).or_default();
                    if positions.last() != Some(&position) {
                        positions.push(position);
                    }
                }
            }
            None => self.of_any_tag.push(position),
        }
        if is_given {
            self.positions.insert(path.to_owned(), position);
        }
        let (path, started) = (path.to_owned(), glance.started);
        self.entries.push(Entry { path, folder, is_given, started, found: OnceLock::new() });
    }

    /// Opens a file of the run and keeps its points for the others.
    pub fn weighed(&self, file: &Path) -> Weighed {
        let weighed = weigh(open(file, self.given));
        if let Some(visit) = weighed.visit() {
            self.present.lock().unwrap_or_else(PoisonError::into_inner).extend(presences(visit));
        }
        if let Some(position) = self.positions.get(file) {
            // Kept already where another visit asked first: the same points.
            let _ = self.entries[*position].found.set(points(&weighed));
        }
        weighed
    }

    /// The records of a file of the run with the history of their loops, and every problem; beside them the points of other
    /// visits that were looked at.
    pub fn reviewed(&self, file: &Path, weighed: Weighed) -> (Reviewed, Vec<Cow<'_, Point>>) {
        let points = weighed.visit().map_or_else(Vec::new, |visit| self.points(file, visit));
        let among: Vec<&Point> = points.iter().map(Cow::as_ref).collect();
        (review_among(weighed, &among), points)
    }

    /// The points of other visits to the loops of a visit of the run that began before it or with it.
    fn points(&self, file: &Path, visit: &Visit) -> Vec<Cow<'_, Point>> {
        let Some(&own) = self.positions.get(file) else {
            return Vec::new();
        };
        let folder = &self.entries[own].folder;
        let client = &visit.client.name.text;
        let mut points = Vec::new();
        for entry in self.candidates(visit).into_iter().filter(|position| *position != own).map(|at| &self.entries[at])
        {
            let is_beside = entry.folder == *folder;
            let is_before = entry.started.is_none_or(|started| started <= visit.started.instant);
            if !is_before || !(entry.is_given || is_beside) {
                continue;
            }
            match entry.found.get_or_init(|| points_of(&entry.path, self.given)) {
                Ok(found) => {
                    let of_client = found.iter().filter(|point| point.client == *client);
                    // Renamed for this visit only: kept as well, the points of a folder for each year would stand twice.
                    let seen = |point| if is_beside { Cow::Borrowed(point) } else { Cow::Owned(from_afar(point)) };
                    points.extend(of_client.map(seen));
                }
                Err(why) => {
                    let mut left_out = self.left_out.lock().unwrap_or_else(PoisonError::into_inner);
                    left_out.insert((entry.path.clone(), why.clone()));
                }
            }
        }
        points
    }

    /// Positions of the files that can hold one of the visit's loops, each once.
    fn candidates(&self, visit: &Visit) -> Vec<usize> {
        let tags: BTreeSet<&str> = visit.loops.iter().map(|of| Glance::key(&of.tag.text)).collect();
        let by_tag = tags.iter().filter_map(|tag| self.by_tag.get(*tag));
        let mut lists: Vec<&Vec<usize>> = by_tag.chain([&self.of_any_tag]).collect();
        lists.retain(|list| !list.is_empty());
        if let [only] = lists[..] {
            return only.clone();
        }
        let mut all: Vec<usize> = lists.into_iter().flatten().copied().collect();
        all.sort_unstable();
        all.dedup();
        all
    }

    /// Who was at two places at once, over the files of the run.
    pub fn clashes(&self) -> Vec<Problem> {
        clashes(std::mem::take(&mut self.present.lock().unwrap_or_else(PoisonError::into_inner)))
    }

    /// Tells the files that were left out, one a line.
    pub fn tell_left_out(&self) {
        for (path, why) in self.left_out.lock().unwrap_or_else(PoisonError::into_inner).iter() {
            tell(&format!("halfcell: {}: left out of the history of other visits: {why}\n", path.display()));
        }
    }
}

fn points_of(path: &Path, given: &Given) -> Result<Vec<Point>, String> {
    points(&weigh(open(path, given)))
}

fn points(weighed: &Weighed) -> Result<Vec<Point>, String> {
    weighed.points().map_err(|errors| super::check::counted(errors, "error"))
}

/// The point as a visit of another folder sees it: its file was given on the command line.
fn from_afar(point: &Point) -> Point {
    let name = format!("{} (given)", point.source.name);
    Point { source: SourceFacts { name, ..point.source.clone() }, ..point.clone() }
}
