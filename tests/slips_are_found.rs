//! How often honest visits are questioned, and how many planted slips are found; the figures of DEVELOPERS.md.
//!
//! `cargo test --test slips_are_found -- --nocapture` prints the tables.

#[path = "slips_are_found/visits.rs"]
mod visits;

use halfcell::problem::Severity;
use halfcell::record::{SlipRecord, compute};
use halfcell::reference::buffers::Buffer;
use halfcell::requirements::review;
use halfcell::visit::{Given, open};
use std::collections::BTreeMap;
use visits::{Dice, Row, Sheet, file, honest};

const HONEST: usize = 3000;
const PLANTED: usize = 150;
/// Codes by which a visit is questioned because of slips.
const QUESTIONS: [&str; 6] = [
    "as-left-copied",
    "copied-from-target",
    "one-slip-explains",
    "response-reversed",
    "slip-suspected",
    "stated-disagrees",
];

struct Folder(tempfile::TempDir);

impl Folder {
    /// Slips of a sheet and the questions that are asked because of them; where it is refused, the fix of the first error.
    fn slips(&self, sheet: &Sheet) -> Result<(Vec<SlipRecord>, Vec<&'static str>), String> {
        let path = self.0.path().join("v.yaml");
        std::fs::write(&path, file(sheet)).unwrap();
        let opened = open(&path, &Given::default());
        let error = opened.problems.iter().find(|problem| problem.severity == Severity::Error);
        let visit =
            opened.visit.as_ref().ok_or_else(|| error.map(|problem| problem.fix.clone()).unwrap_or_default())?;
        let slips = compute(visit, 0).slips;
        let told = review(opened).problems.into_iter().map(|problem| problem.code);
        Ok((slips, told.filter(|code| QUESTIONS.contains(code)).collect()))
    }
}

#[test]
fn honest_visits_are_seldom_questioned() {
    let (mut dice, folder) = (Dice(20260417), Folder(tempfile::tempdir().unwrap()));
    let mut questioned: BTreeMap<&str, usize> = BTreeMap::new();
    let mut visits_questioned = 0;
    for _ in 0..HONEST {
        let sheet = honest(&mut dice);
        let (slips, asked) = folder.slips(&sheet).unwrap_or_else(|fix| panic!("refused ({fix}):\n{}", file(&sheet)));
        let mut codes: Vec<&str> = slips.iter().map(|slip| slip.code).chain(asked).collect();
        codes.sort_unstable();
        codes.dedup();
        visits_questioned += usize::from(!codes.is_empty());
        codes.into_iter().for_each(|code| *questioned.entry(code).or_default() += 1);
    }
    println!("{visits_questioned} of {HONEST} honest visits questioned: {questioned:?}");
    assert!(visits_questioned * 200 < HONEST, "{visits_questioned} of {HONEST}: {questioned:?}");
}

type Plant = fn(&mut Dice, &mut Sheet) -> Option<()>;

fn any(dice: &mut Dice, sheet: &Sheet) -> usize {
    dice.below(sheet.found.len())
}

fn exchanged(dice: &mut Dice, sheet: &mut Sheet) -> Option<()> {
    let (a, b) = (any(dice, sheet), any(dice, sheet));
    if sheet.found[a].named == sheet.found[b].named {
        return None;
    }
    let (one, other) = (sheet.found[a].named, sheet.found[b].named);
    (sheet.found[a].named, sheet.found[b].named) = (other, one);
    Some(())
}

fn potentials_exchanged(dice: &mut Dice, sheet: &mut Sheet) -> Option<()> {
    let (a, b) = (any(dice, sheet), any(dice, sheet));
    if sheet.found[a].named == sheet.found[b].named {
        return None;
    }
    let (one, other) = (sheet.found[a].mv.clone(), sheet.found[b].mv.clone());
    (sheet.found[a].mv, sheet.found[b].mv) = (other, one);
    Some(())
}

fn turned(mv: &str) -> String {
    mv.strip_prefix('-').map_or_else(|| format!("-{mv}"), str::to_owned)
}

fn sign(dice: &mut Dice, sheet: &mut Sheet) -> Option<()> {
    let at = any(dice, sheet);
    sheet.found[at].mv = turned(&sheet.found[at].mv);
    Some(())
}

fn every_sign(_: &mut Dice, sheet: &mut Sheet) -> Option<()> {
    sheet.found.iter_mut().for_each(|row| row.mv = turned(&row.mv));
    Some(())
}

/// Two neighbouring digits, perhaps over the point.
fn swapped(dice: &mut Dice, text: &str) -> Option<String> {
    let mut letters: Vec<char> = text.chars().collect();
    let digits: Vec<usize> = (0..letters.len()).filter(|&at| letters[at].is_ascii_digit()).collect();
    if digits.len() < 2 {
        return None;
    }
    let at = dice.below(digits.len() - 1);
    letters.swap(digits[at], digits[at + 1]);
    let swapped: String = letters.into_iter().collect();
    (swapped != text).then_some(swapped)
}

fn digits(dice: &mut Dice, sheet: &mut Sheet) -> Option<()> {
    let at = any(dice, sheet);
    sheet.found[at].mv = swapped(dice, &sheet.found[at].mv)?;
    Some(())
}

fn first_digits(_: &mut Dice, sheet: &mut Sheet) -> Option<()> {
    let row = sheet.found.iter_mut().find(|row| row.mv.trim_start_matches('-').parse::<f64>().unwrap() >= 100.0)?;
    let start = usize::from(row.mv.starts_with('-'));
    let mut letters: Vec<char> = row.mv.chars().collect();
    letters.swap(start, start + 1);
    let new: String = letters.into_iter().collect();
    (new != row.mv).then(|| row.mv = new)
}

fn temperature_digits(dice: &mut Dice, sheet: &mut Sheet) -> Option<()> {
    let at = any(dice, sheet);
    let new = swapped(dice, &sheet.found[at].temperature)?;
    (new.parse::<f64>().unwrap() < 50.0).then(|| sheet.found[at].temperature = new)
}

/// The point one or two places to the left.
fn point_left(dice: &mut Dice, sheet: &mut Sheet) -> Option<()> {
    let at = any(dice, sheet);
    let mv = &mut sheet.found[at].mv;
    let (places, decimals) = (1 + dice.below(2), mv.split('.').nth(1).map_or(0, str::len));
    let value: f64 = mv.parse().unwrap();
    *mv = format!("{:.*}", decimals + places, value / 10f64.powi(places as i32));
    Some(())
}

fn point_right(dice: &mut Dice, sheet: &mut Sheet) -> Option<()> {
    let at = any(dice, sheet);
    let mv = &mut sheet.found[at].mv;
    mv.contains('.').then(|| *mv = mv.replace('.', ""))
}

fn temperature_point(dice: &mut Dice, sheet: &mut Sheet) -> Option<()> {
    let at = any(dice, sheet);
    let t: f64 = sheet.found[at].temperature.parse().unwrap();
    sheet.found[at].temperature = format!("{:.2}", t / 10.0);
    Some(())
}

fn in_fahrenheit(row: &mut Row) {
    let t: f64 = row.temperature.parse().unwrap();
    row.temperature = format!("{:.1}", 32.0 + 1.8 * t);
}

fn fahrenheit(dice: &mut Dice, sheet: &mut Sheet) -> Option<()> {
    let at = any(dice, sheet);
    in_fahrenheit(&mut sheet.found[at]);
    Some(())
}

fn every_fahrenheit(_: &mut Dice, sheet: &mut Sheet) -> Option<()> {
    sheet.found.iter_mut().for_each(in_fahrenheit);
    Some(())
}

fn in_volts(row: &mut Row) {
    let decimals = row.mv.split('.').nth(1).map_or(0, str::len) + 3;
    row.mv = format!("{:.decimals$}", row.mv.parse::<f64>().unwrap() / 1000.0);
}

fn volts(dice: &mut Dice, sheet: &mut Sheet) -> Option<()> {
    let at = any(dice, sheet);
    in_volts(&mut sheet.found[at]);
    Some(())
}

fn every_volts(_: &mut Dice, sheet: &mut Sheet) -> Option<()> {
    sheet.found.iter_mut().for_each(in_volts);
    Some(())
}

fn named(sheet: &mut Sheet, from: Buffer, to: Buffer) -> Option<()> {
    let taken = sheet.found.iter().any(|row| row.named == to);
    let mut rows = sheet.found.iter_mut().filter(|row| row.named == from).peekable();
    rows.peek().filter(|_| !taken)?;
    rows.for_each(|row| row.named = to);
    Some(())
}

fn carbonate_as_borax(_: &mut Dice, sheet: &mut Sheet) -> Option<()> {
    named(sheet, Buffer::Carbonate, Buffer::Borax)
}

fn borax_as_carbonate(_: &mut Dice, sheet: &mut Sheet) -> Option<()> {
    named(sheet, Buffer::Borax, Buffer::Carbonate)
}

fn seven_as_phosphate(_: &mut Dice, sheet: &mut Sheet) -> Option<()> {
    named(sheet, Buffer::Technical7, Buffer::Phosphate)
}

fn ph(dice: &mut Dice, sheet: &mut Sheet) -> Option<()> {
    let at = any(dice, sheet);
    sheet.found[at].mv = sheet.found[at].shown.clone()?;
    Some(())
}

fn every_ph(_: &mut Dice, sheet: &mut Sheet) -> Option<()> {
    sheet.found.iter_mut().try_for_each(|row| {
        row.mv = row.shown.clone()?;
        Some(())
    })
}

fn left_from_found(_: &mut Dice, sheet: &mut Sheet) -> Option<()> {
    sheet.left = Some(sheet.found.clone()).filter(|_| sheet.left.is_some());
    sheet.left.as_ref().map(|_| ())
}

fn found_from_target(_: &mut Dice, sheet: &mut Sheet) -> Option<()> {
    sheet.found.iter_mut().try_for_each(|row| {
        row.shown.as_ref()?;
        row.shown = Some(format!("{:.2}", row.named.ph(25.0).unwrap()));
        Some(())
    })
}

/// A slope as most work it out by head, from two readings at 59.16 mV for whatever temperature, and five percent off.
fn stated(_: &mut Dice, sheet: &mut Sheet) -> Option<()> {
    sheet.stated_slope = Some(format!("{:.1}", sheet.slope + 5.0));
    Some(())
}

/// What became of the planted slips of one kind.
#[derive(Default)]
struct Tally {
    planted: usize,
    /// The slip is among those named.
    named: usize,
    /// Only it is named.
    alone: usize,
    /// Only others are named.
    other: usize,
    /// Refused by the check step, which names the slip itself.
    refused: usize,
}

impl Tally {
    fn percent(&self, part: usize) -> f64 {
        100.0 * part as f64 / self.planted.max(1) as f64
    }
}

fn tally(plant: Plant, code: &str, shows: bool, folder: &Folder, dice: &mut Dice) -> Tally {
    let mut tally = Tally::default();
    for _ in 0..20 * PLANTED {
        let mut sheet = honest(dice);
        sheet.stated_slope = None;
        let is_well = (80.0..=101.0).contains(&sheet.slope) && sheet.offset.abs() < 40.0;
        if !is_well || sheet.found.iter().any(|row| row.shown.is_some() != shows) || plant(dice, &mut sheet).is_none() {
            continue;
        }
        tally.planted += 1;
        match folder.slips(&sheet) {
            Err(fix) => {
                assert!(fix.contains("°F") || fix.contains("decimal point"), "{code} refused: {fix}");
                tally.refused += 1;
            }
            Ok((slips, _)) if slips.iter().any(|slip| slip.code == code) => {
                tally.named += 1;
                tally.alone += usize::from(slips.iter().all(|slip| slip.code == code));
            }
            Ok((slips, _)) => tally.other += usize::from(!slips.is_empty()),
        }
        if tally.planted == PLANTED {
            break;
        }
    }
    tally
}

/// What is planted, its code, how many percent are named at least with values shown noted, and without.
const PLANTS: [(&str, Plant, &str, f64, f64); 22] = [
    ("two buffers exchanged", exchanged, "buffers-exchanged", 90.0, 90.0),
    ("two potentials exchanged", potentials_exchanged, "buffers-exchanged", 90.0, 90.0),
    ("one sign", sign, "sign-lost", 60.0, 55.0),
    ("every sign", every_sign, "sign-lost", 92.0, 92.0),
    ("two digits of a potential", digits, "digits-exchanged", 45.0, 28.0),
    ("first two digits of a potential", first_digits, "digits-exchanged", 85.0, 85.0),
    ("two digits of a temperature", temperature_digits, "digits-exchanged", 20.0, 20.0),
    ("point of a potential to the left", point_left, "point-moved", 65.0, 55.0),
    ("point of a potential lost", point_right, "point-moved", 80.0, 78.0),
    ("point of a temperature to the left", temperature_point, "point-moved", 85.0, 85.0),
    ("one temperature in °F", fahrenheit, "fahrenheit", 45.0, 45.0),
    ("every temperature in °F", every_fahrenheit, "fahrenheit", 20.0, 20.0),
    ("one potential in volts", volts, "volts", 65.0, 50.0),
    ("every potential in volts", every_volts, "volts", 90.0, 90.0),
    ("carbonate named borax", carbonate_as_borax, "buffer-family", 90.0, 90.0),
    ("borax named carbonate", borax_as_carbonate, "buffer-family", 45.0, 50.0),
    ("technical 7.00 named phosphate", seven_as_phosphate, "buffer-family", 0.0, 0.0),
    ("one pH as potential", ph, "ph-as-mv", 90.0, 0.0),
    ("every pH as potential", every_ph, "ph-as-mv", 88.0, 0.0),
    ("as left copied from as found", left_from_found, "copied-from-as-found", 98.0, 98.0),
    ("values shown copied from the bottles", found_from_target, "copied-from-target", 98.0, 0.0),
    ("stated slope 5 % off", stated, "stated-disagrees", 95.0, 95.0),
];

#[test]
fn planted_slips_are_named() {
    let folder = Folder(tempfile::tempdir().unwrap());
    for (what, plant, code, with, without) in PLANTS {
        for (shows, least) in [(true, with), (false, without)] {
            let tally = tally(plant, code, shows, &folder, &mut Dice(20260418));
            println!(
                "| {what} | {} | {} | {:.0} % | {:.0} % | {:.0} % | {:.0} % |",
                if shows { "yes" } else { "no" },
                tally.planted,
                tally.percent(tally.named),
                tally.percent(tally.alone),
                tally.percent(tally.other),
                tally.percent(tally.refused)
            );
            assert!(tally.planted == 0 || tally.percent(tally.named) >= least, "{what}, shown {shows}");
        }
    }
}
