//! Simulated honest visits: what probes, analysers and technicians do, as a visit file.

use halfcell::reference::buffers::Buffer;
use halfcell::reference::slope_mv_per_ph;

/// SplitMix64, so that the visits are the same everywhere.
pub struct Dice(pub u64);

impl Dice {
    fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }

    pub fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * (self.next() >> 11) as f64 / (1u64 << 53) as f64
    }

    pub fn chance(&mut self, of_one: f64) -> bool {
        self.between(0.0, 1.0) < of_one
    }

    pub fn below(&mut self, n: usize) -> usize {
        (self.between(0.0, n as f64) as usize).min(n - 1)
    }

    /// Normal deviate (Box and Muller).
    pub fn normal(&mut self, mean: f64, sd: f64) -> f64 {
        let (u, v) = (self.between(1e-12, 1.0), self.between(0.0, std::f64::consts::TAU));
        mean + sd * (-2.0 * u.ln()).sqrt() * v.cos()
    }
}

/// One reading as the technician writes it.
#[derive(Clone)]
pub struct Row {
    /// Name of the standard on the sheet.
    pub named: Buffer,
    pub mv: String,
    pub temperature: String,
    pub shown: Option<String>,
}

/// One visit to one loop.
#[derive(Clone)]
pub struct Sheet {
    pub found: Vec<Row>,
    pub left: Option<Vec<Row>>,
    pub adjusted: bool,
    pub remedy: Option<&'static str>,
    pub stored: Option<(String, String)>,
    pub stated_slope: Option<String>,
    /// What is true: slope in percent, offset in mV.
    pub slope: f64,
    pub offset: f64,
}

pub struct Probe {
    slope: f64,
    offset: f64,
    noise: f64,
    /// How much lower the buffers above pH 8 have become, pH.
    carbon_dioxide: f64,
}

struct Analyser {
    slope: f64,
    offset: f64,
    manual_c: Option<f64>,
}

const SETS: [&[Buffer]; 8] = [
    &[Buffer::Phosphate, Buffer::Phthalate],
    &[Buffer::Technical7, Buffer::Phthalate],
    &[Buffer::Phosphate, Buffer::Borax],
    &[Buffer::Technical7, Buffer::Carbonate],
    &[Buffer::Phosphate, Buffer::Phthalate, Buffer::Borax],
    &[Buffer::Technical7, Buffer::Phthalate, Buffer::Carbonate],
    &[Buffer::Tetroxalate, Buffer::Phthalate, Buffer::Phosphate, Buffer::Borax],
    &[Buffer::Tetroxalate, Buffer::Phthalate, Buffer::Phosphate, Buffer::Borax, Buffer::Carbonate],
];

/// Digits as typed; one person in twenty drops the trailing zero.
fn typed(dice: &mut Dice, value: f64, decimals: usize) -> String {
    let text = format!("{value:.decimals$}");
    let text =
        if text.trim_start_matches('-').chars().all(|c| c == '0' || c == '.') { text.replace('-', "") } else { text };
    match text.strip_suffix(".0") {
        Some(short) if dice.chance(0.05) => short.to_owned(),
        _ => text,
    }
}

struct Habits {
    mv_decimals: usize,
    shows: bool,
}

fn read(dice: &mut Dice, buffer: Buffer, t: f64, probe: &Probe, analyser: &Analyser, habits: &Habits) -> Row {
    let mut ph = buffer.ph(t).unwrap();
    if ph > 8.0 {
        ph -= probe.carbon_dioxide;
    }
    let k = slope_mv_per_ph(t);
    let mv = probe.offset + probe.slope / 100.0 * k * (7.0 - ph) + dice.normal(0.0, probe.noise);
    let by = analyser.manual_c.unwrap_or(t + dice.normal(0.0, 0.3));
    let seen = mv + dice.normal(0.0, 0.2);
    let shown = 7.0 - (seen - analyser.offset) / (analyser.slope / 100.0 * slope_mv_per_ph(by));
    Row {
        named: buffer,
        mv: typed(dice, mv, habits.mv_decimals),
        temperature: typed(dice, t, 1),
        shown: habits.shows.then(|| format!("{shown:.2}")),
    }
}

/// A probe of the field: most are well, some weak, one in twenty dead.
fn probe(dice: &mut Dice) -> Probe {
    let kind = dice.between(0.0, 1.0);
    let slope = match kind {
        k if k < 0.80 => dice.normal(95.0, 4.0).clamp(60.0, 102.0),
        k if k < 0.95 => dice.between(60.0, 90.0),
        _ => dice.between(0.0, 10.0),
    };
    let offset = if dice.chance(0.75) { dice.normal(0.0, 10.0) } else { dice.between(-60.0, 60.0) };
    let carbon_dioxide = if dice.chance(0.08) { dice.between(0.0, 0.3) } else { 0.0 };
    Probe { slope, offset, noise: dice.between(0.3, 1.0), carbon_dioxide }
}

fn measured(dice: &mut Dice, set: &[(Buffer, f64)], probe: &Probe, analyser: &Analyser, habits: &Habits) -> Vec<Row> {
    set.iter().map(|&(buffer, t)| read(dice, buffer, t, probe, analyser, habits)).collect()
}

/// One honest visit.
pub fn honest(dice: &mut Dice) -> Sheet {
    let found = probe(dice);
    let is_dead = found.slope < 20.0;
    let buffers = SETS[dice.below(SETS.len())];
    let t = dice.between(5.0, 40.0);
    let mut set: Vec<(Buffer, f64)> = buffers.iter().map(|&buffer| (buffer, t + dice.normal(0.0, 0.3))).collect();
    if dice.chance(0.03) {
        // One bottle came from the van.
        let at = dice.below(set.len());
        set[at].1 = (t + dice.between(-12.0, 12.0)).clamp(3.0, 42.0);
    }
    if dice.chance(0.15) {
        set.push(set[0]);
    }
    if dice.chance(0.5) {
        set.reverse();
    }
    let of_dead = Probe { slope: 96.0, offset: dice.normal(0.0, 8.0), ..found };
    let last = if is_dead { &of_dead } else { &found };
    let manual_c = dice.chance(0.1).then_some(25.0);
    let analyser = match dice.chance(0.3) {
        true => Analyser { slope: 100.0, offset: 0.0, manual_c },
        false => Analyser {
            slope: (last.slope + dice.normal(2.0, 3.0)).clamp(75.0, 104.0),
            offset: last.offset + dice.normal(0.0, 6.0),
            manual_c,
        },
    };
    let adjusted = dice.chance(0.6);
    let habits = Habits { mv_decimals: dice.below(2), shows: adjusted || dice.chance(0.6) };
    let rows = measured(dice, &set, &found, &analyser, &habits);
    let remedy = match is_dead {
        true => Some("probe replaced"),
        false => dice.chance(0.25).then_some("acid soak"),
    };
    let after = match remedy {
        Some("probe replaced") => Probe { slope: 98.0, offset: dice.normal(0.0, 5.0), ..found },
        Some(_) => {
            Probe { slope: (found.slope + dice.between(0.0, 6.0)).min(101.0), offset: found.offset * 0.6, ..found }
        }
        None => Probe { ..found },
    };
    let set_to = match adjusted {
        // What the analyser stores is what it read, to its digits.
        true => Analyser {
            slope: (after.slope + dice.normal(0.0, 0.4)).max(60.0),
            offset: after.offset + dice.normal(0.0, 0.5),
            manual_c: None,
        },
        false => analyser,
    };
    let left = (adjusted || remedy.is_some()).then(|| measured(dice, &set, &after, &set_to, &habits));
    let stored = (!adjusted && remedy.is_none() && dice.chance(0.3))
        .then(|| (format!("{:.1}", set_to.slope), format!("{:.1}", set_to.offset)));
    let stated_slope = (rows.len() == 2 && dice.chance(0.5)).then(|| worked_out(&rows));
    Sheet { found: rows, left, adjusted, remedy, stored, stated_slope, slope: found.slope, offset: found.offset }
}

/// The slope that somebody works out from two readings, with the buffers at their temperatures.
fn worked_out(rows: &[Row]) -> String {
    let perfect = |row: &Row| {
        let t: f64 = row.temperature.parse().unwrap();
        slope_mv_per_ph(t) * (7.0 - row.named.ph(t).unwrap())
    };
    let mv = |row: &Row| row.mv.parse::<f64>().unwrap();
    format!("{:.1}", 100.0 * (mv(&rows[1]) - mv(&rows[0])) / (perfect(&rows[1]) - perfect(&rows[0])))
}

fn rows(rows: &[Row]) -> String {
    let line = |row: &Row| {
        let name = row.named.name().replace(' ', "_");
        let shown = row.shown.as_ref().map_or_else(String::new, |shown| format!(", shown: {shown}"));
        format!("        - {{in: {name}, mv: {}, temperature: {}{shown}}}\n", row.mv, row.temperature)
    };
    rows.iter().map(line).collect()
}

/// The visit file of a sheet.
pub fn file(sheet: &Sheet) -> String {
    let standards: String = Buffer::ALL
        .iter()
        .map(|buffer| format!("    {}: {{buffer: '{}', lot: a}}\n", buffer.name().replace(' ', "_"), buffer.name()))
        .collect();
    let mut text = format!(
        "visit:\n  number: V-1\n  started: 2026-04-17T08:40+01:00\n  client: {{name: Invented client}}\n  \
         technicians: [A. Name]\n  standards:\n{standards}loops:\n  - tag: AIT-1\n    quantity: pH\n    probe: P-1\n    \
         as_found:\n      readings:\n{}",
        rows(&sheet.found)
    );
    if let Some(slope) = &sheet.stated_slope {
        text += &format!("      stated: {{slope: {slope} %}}\n");
    }
    if let Some((slope, offset)) = &sheet.stored {
        text += &format!("      stored: {{slope: {slope} %, offset: {offset} mV}}\n");
    }
    match sheet.remedy {
        Some("probe replaced") => text += "    remedies: [{remedy: probe replaced, probe: {serial: P-2}}]\n",
        Some(remedy) => text += &format!("    remedies: [{{remedy: {remedy}}}]\n"),
        None => {}
    }
    text += &format!("    adjusted: {}\n", if sheet.adjusted { "yes" } else { "no" });
    if let Some(left) = &sheet.left {
        text += &format!("    as_left:\n      readings:\n{}", rows(left));
    }
    text + "    outcome: returned to service\n"
}
