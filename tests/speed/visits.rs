//! The visits of an invented office over three years, as a technician writes them: the same files for the same number and seed.
//!
//! Nine clients in four languages, some 320 loops, limits that are revised, remedies, replaced probes, traces, whole rounds
//! with a summary, signatures still awaited. Used by the benchmark of the register and by tests.

#[path = "office.rs"]
mod office;
#[path = "plant.rs"]
mod plant;

use chrono::{DateTime, Datelike, NaiveDate, NaiveTime, TimeDelta, TimeZone, Weekday};
use chrono_tz::Tz;
use office::{CLIENTS, Client, Limits};
use plant::{Dice, Kind, Loop};
use std::path::{Path, PathBuf};

/// Loops of all clients.
const LOOPS: usize = 320;
/// Minutes that a loop takes.
const MINUTES: i64 = 45;
/// The years of the visits.
const YEARS: std::ops::RangeInclusive<i32> = 2023..=2025;

/// What was written; each user needs a part of it.
#[allow(dead_code)]
pub struct Office {
    /// Folders of visit files, in the order of years.
    pub folders: Vec<PathBuf>,
    /// A client with a re-evaluation worth a look, and stricter limits than any.
    pub client: &'static str,
    pub stricter: PathBuf,
}

/// Writes so many visits and what they name into a folder.
pub fn write(folder: &Path, visits: usize, seed: u64) -> Office {
    let mut dice = Dice(seed);
    let days: Vec<NaiveDate> = NaiveDate::from_ymd_opt(*YEARS.start(), 1, 2)
        .unwrap()
        .iter_days()
        .take_while(|day| day.year() <= *YEARS.end())
        .filter(|day| !matches!(day.weekday(), Weekday::Sat | Weekday::Sun))
        .collect();
    let vans = visits.div_ceil(days.len()) + 2;
    office::write(folder, vans, YEARS);
    let mut loops = loops(&mut dice, days[0].pred_opt().unwrap());
    for (position, client) in CLIENTS.iter().enumerate() {
        let own = loops.iter().filter(|of| of.client == position);
        let roster: Vec<(String, usize, Kind)> = own.map(|of| (of.tag.clone(), of.site, of.kind)).collect();
        std::fs::write(folder.join(format!("clients/{}.yaml", client.key)), office::client_file(client, &roster))
            .unwrap();
    }
    let folders: Vec<PathBuf> = YEARS.map(|year| folder.join(year.to_string())).collect();
    folders.iter().for_each(|folder| std::fs::create_dir_all(folder).unwrap());
    let mut number = 0;
    for (at, &day) in days.iter().enumerate() {
        let mut slots = vec![2_usize; vans];
        for _ in at * visits / days.len()..(at + 1) * visits / days.len() {
            number += 1;
            let called = called(&mut dice, &loops, day, &slots);
            let vans = van(&mut slots, called.len(), number);
            let text = visit(&mut dice, &mut loops, &called, number, day, vans);
            let name = format!("{}/{day}-HM-{number:05}.yaml", day.year());
            std::fs::write(folder.join(name), text).unwrap();
        }
    }
    let stricter = folder.join("limits/stricter.yaml");
    let text = std::fs::read_to_string(folder.join("limits/firm-2025.yaml")).unwrap();
    std::fs::write(
        &stricter,
        text.replace("revision: 5", "revision: 6")
            .replace("warn_below: 85 %, fail_below: 80 %", "warn_below: 90 %, fail_below: 85 %"),
    )
    .unwrap();
    Office { folders, client: CLIENTS[0].name, stricter }
}

fn loops(dice: &mut Dice, first: NaiveDate) -> Vec<Loop> {
    let new = |at: usize| {
        let (client, position) = (at % CLIENTS.len(), at / CLIENTS.len());
        let tag = format!("{}-{}", CLIENTS[client].prefix, 101 + position);
        Loop::new(dice, tag, [client, position % CLIENTS[client].sites.len(), at], Kind::of(position), first)
    };
    (0..LOOPS).map(new).collect()
}

/// The loops of a visit: the one that waits longest, and some of its site that wait too.
fn called(dice: &mut Dice, loops: &[Loop], day: NaiveDate, slots: &[usize]) -> Vec<usize> {
    let mut waiting: Vec<usize> = (0..loops.len()).filter(|&at| loops[at].seen < day).collect();
    waiting.sort_by_key(|&at| (loops[at].seen, at));
    let first = waiting[dice.below(12.min(waiting.len()))];
    let has_whole_day = slots.contains(&2);
    let more = match dice.between(0.0, 1.0) {
        chance if chance < 0.005 && has_whole_day => 7 + dice.below(3),
        chance if chance < 0.20 => 1 + dice.below(3),
        _ => 0,
    };
    let is_near = |at: &&usize| {
        **at != first && (loops[**at].client, loops[**at].site) == (loops[first].client, loops[first].site)
    };
    let mut called: Vec<usize> =
        std::iter::once(first).chain(waiting.iter().filter(is_near).take(more).copied()).collect();
    called.sort_unstable();
    called
}

/// A van with time, and which half of its day is taken: a whole round takes both.
fn van(slots: &mut [usize], loops: usize, number: usize) -> (usize, usize) {
    let halves = if loops > 4 { 2 } else { 1 };
    let mut order = (0..slots.len()).map(|step| (number + step) % slots.len());
    let van = order.find(|&van| slots[van] >= halves).expect("there are two vans more than a day's visits need");
    let half = 2 - slots[van];
    slots[van] -= halves;
    (van, half)
}

fn visit(
    dice: &mut Dice,
    loops: &mut [Loop],
    called: &[usize],
    number: usize,
    day: NaiveDate,
    (van, half): (usize, usize),
) -> String {
    let (client, site) = (&CLIENTS[loops[called[0]].client], loops[called[0]].site);
    let begin = NaiveTime::from_hms_opt([7, 12][half], 10 + dice.below(30) as u32, 0).unwrap();
    let end = begin + TimeDelta::minutes(MINUTES * called.len() as i64 + 10);
    let [started, finished] = [begin, end].map(|time| moment(client, day, time));
    let season = -(f64::from(day.ordinal0()) / 58.1).cos();
    let temperature = 18.0 + 5.0 * season + dice.between(-1.5, 1.5);
    let technician = office::technician(van);
    let mut text = format!(
        "visit:\n  number: HM-{}-{number:05}\n  started: {started}\n  finished: {finished}\n  client: ../clients/{}.yaml\n  \
         site: {}\n  order: {}-{}\n  kit: ../kits/{}.yaml\n  limits: ../limits/{}.yaml\n  technicians: [{technician}]\n  \
         conditions: {{ambient: {:.0} °C}}\nloops:\n",
        day.year(),
        client.key,
        client.sites[site].0,
        client.prefix,
        day.format("%y%m"),
        office::kit(van, day),
        office::limits(client, day),
        temperature + 8.0 * season - 4.0,
    );
    for (position, &at) in called.iter().enumerate() {
        let from = begin + TimeDelta::minutes(5 + MINUTES * position as i64);
        let is_strict = matches!(client.limits, Limits::Permit | Limits::Gmp);
        let is_old = day > office::technical_buffer_expires(van, day);
        let of_loop = plant::Visit {
            day,
            from,
            to: from + TimeDelta::minutes(MINUTES - 5),
            temperature,
            by: None,
            is_strict,
            accepts_old_buffer: is_old && client.limits == Limits::Gmp,
            remark: if dice.chance(0.1) { office::remark(client.language, at) } else { "" },
        };
        loops[at].age(dice, day);
        text += &loops[at].visited(dice, &of_loop);
    }
    let signed = moment(client, day, end + TimeDelta::minutes(5));
    text += &format!("signatures:\n  - {{role: performed, name: {technician}, signed: {signed}}}\n");
    if !dice.chance(0.02) {
        let next = moment(client, day.succ_opt().unwrap(), NaiveTime::from_hms_opt(9, 10, 0).unwrap());
        text += &format!("  - {{role: authorised, name: M. Orrisby, signed: {next}}}\n");
    }
    text
}

/// A moment at a client as it is typed, with the offset of its zone.
fn moment(client: &Client, day: NaiveDate, time: NaiveTime) -> String {
    let zone: Tz = client.zone.parse().unwrap();
    let there: DateTime<Tz> = zone.from_local_datetime(&day.and_time(time)).unwrap();
    there.format("%Y-%m-%dT%H:%M%:z").to_string()
}
