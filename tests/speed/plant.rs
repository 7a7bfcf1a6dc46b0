//! Loops of an invented plant: probes that age, foul, are cleaned and replaced, and what a technician writes of each visit.

use chrono::{NaiveDate, NaiveTime, TimeDelta};
use halfcell::reference::buffers::{Buffer, BufferValue};
use halfcell::reference::electrodes::ReferenceElectrode;
use halfcell::reference::redox::RedoxValue;
use halfcell::reference::slope_mv_per_ph;
use std::fmt::Write;

/// SplitMix64: the same plant everywhere.
pub struct Dice(pub u64);

impl Dice {
    fn next(&mut self) -> f64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        ((z ^ (z >> 31)) >> 11) as f64 / (1u64 << 53) as f64
    }

    pub fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.next()
    }

    pub fn chance(&mut self, of_one: f64) -> bool {
        self.next() < of_one
    }

    pub fn below(&mut self, n: usize) -> usize {
        ((self.next() * n as f64) as usize).min(n - 1)
    }

    fn normal(&mut self, sd: f64) -> f64 {
        // Twelve uniform deviates: never farther than six standard deviations.
        sd * ((0..12).map(|_| self.next()).sum::<f64>() - 6.0)
    }
}

/// What a loop measures, and where it stands in the process.
#[derive(Clone, Copy, PartialEq, Eq)]
pub enum Kind {
    Acid,
    Neutral,
    Alkaline,
    Redox,
}

impl Kind {
    pub fn of(position: usize) -> Kind {
        [
            Kind::Neutral,
            Kind::Acid,
            Kind::Neutral,
            Kind::Alkaline,
            Kind::Neutral,
            Kind::Acid,
            Kind::Alkaline,
            Kind::Redox,
        ][position % 8]
    }

    pub fn quantity(self) -> &'static str {
        if self == Kind::Redox { "redox" } else { "pH" }
    }

    pub fn usual(self) -> (f64, f64) {
        match self {
            Kind::Acid => (4.6, 6.6),
            Kind::Neutral => (6.7, 8.4),
            Kind::Alkaline => (7.4, 9.6),
            Kind::Redox => (180.0, 300.0),
        }
    }

    pub fn range(self) -> [i32; 2] {
        match self {
            Kind::Acid => [2, 8],
            Kind::Neutral => [4, 10],
            Kind::Alkaline => [2, 12],
            Kind::Redox => [-200, 800],
        }
    }

    /// Those it is calibrated in, by their name in the van, and the one that it is checked in besides.
    fn standards(self) -> (&'static [(&'static str, Buffer)], &'static str) {
        const B7: (&str, Buffer) = ("B7", Buffer::Phosphate);
        const B4: (&str, Buffer) = ("B4", Buffer::Phthalate);
        match self {
            Kind::Acid => (&[B7, B4], "X7"),
            Kind::Neutral => (&[B7, B4, ("B9", Buffer::Borax)], "X7"),
            Kind::Alkaline => (&[B7, B4, ("B10", Buffer::Carbonate)], "X7"),
            Kind::Redox => (&[], ""),
        }
    }
}

/// A probe as it is; the technician knows only serial and dates.
struct Probe {
    serial: String,
    installed: NaiveDate,
    junction_renewed: Option<NaiveDate>,
    /// Slope of the clean glass in percent, and offset in mV.
    slope: f64,
    offset: f64,
    /// What a film on the glass and a tired junction take away and add.
    film: f64,
    junction: f64,
    is_broken: bool,
}

/// A loop with its probe and what its analyser stores.
pub struct Loop {
    pub tag: String,
    pub client: usize,
    pub site: usize,
    pub kind: Kind,
    /// Day of the last visit.
    pub seen: NaiveDate,
    harshness: f64,
    probe: Probe,
    stored: [f64; 2],
    probes: usize,
    series: usize,
}

/// What a visit gives to each of its loops.
pub struct Visit<'v> {
    pub day: NaiveDate,
    pub from: NaiveTime,
    pub to: NaiveTime,
    /// Temperature of the buffers, °C.
    pub temperature: f64,
    /// Who did this loop, where several came.
    pub by: Option<&'v str>,
    /// Whether every loop needs a check besides its calibration, and compensation named.
    pub is_strict: bool,
    /// Reason to use the technical buffer past its day, where it is and has to be accepted.
    pub accepts_old_buffer: bool,
    pub remark: &'v str,
}

impl Loop {
    pub fn new(dice: &mut Dice, tag: String, [client, site, series]: [usize; 3], kind: Kind, first: NaiveDate) -> Loop {
        let installed = first - TimeDelta::days(dice.between(1.0, 400.0) as i64);
        let probe = probe(dice, format!("G{series:03}-{:04}", 100), installed);
        let stored = [probe.slope, probe.offset];
        let harshness = dice.between(0.3, 2.0);
        let mut new = Loop { tag, client, site, kind, seen: installed, harshness, probe, stored, probes: 0, series };
        new.age(dice, first);
        new
    }

    /// What the process does to the probe until a day.
    pub fn age(&mut self, dice: &mut Dice, day: NaiveDate) {
        let days = (day - self.seen).num_days().max(0) as f64;
        let probe = &mut self.probe;
        probe.slope -= self.harshness * days * dice.between(0.005, 0.015);
        probe.offset += dice.normal(0.25 * days.sqrt());
        probe.film = (probe.film + self.harshness * days * dice.between(0.0, 0.07)).min(14.0);
        probe.junction += self.harshness * days * dice.between(-0.01, 0.05);
        probe.is_broken |= dice.chance(0.002);
        self.seen = day;
    }

    fn state(&self) -> [f64; 2] {
        let probe = &self.probe;
        [probe.slope - probe.film, probe.offset + 0.6 * probe.film + probe.junction]
    }

    /// What the technician writes of the visit; the loop is left as he left it.
    pub fn visited(&mut self, dice: &mut Dice, visit: &Visit<'_>) -> String {
        let mut text =
            format!("  - tag: {}\n    quantity: {}\n    probe: {}\n", self.tag, self.kind.quantity(), self.plate());
        if let Some(by) = visit.by {
            writeln!(text, "    by: {by}").unwrap();
        }
        let time = |minutes: i64| (visit.from + TimeDelta::minutes(minutes)).format("%H:%M");
        writeln!(text, "    hold: {{from: {}, to: {}}}", time(3), visit.to.format("%H:%M")).unwrap();
        match (self.kind, self.probe.is_broken) {
            (_, true) => self.replaced_unseen(dice, visit, &mut text),
            (Kind::Redox, false) => self.redox(dice, visit, &mut text),
            (_, false) => self.ph(dice, visit, &mut text),
        }
        if !visit.remark.is_empty() {
            writeln!(text, "    remarks: {}", visit.remark).unwrap();
        }
        text
    }

    fn plate(&self) -> String {
        let probe = &self.probe;
        let element = if self.kind == Kind::Redox { "" } else { "temperature_element: Pt1000, " };
        let junction = probe.junction_renewed.map_or_else(String::new, |day| format!(", junction_renewed: {day}"));
        let condition = match probe.film {
            film if film > 5.0 => ", condition: thick film",
            film if film > 2.0 => ", condition: thin film on the bulb",
            _ => "",
        };
        format!(
            "{{make: Mistlebank, model: G12, serial: {}, reference: \"Ag/AgCl 3 mol/L\", {element}installed: \
             {}{junction}{condition}}}",
            probe.serial, probe.installed
        )
    }

    fn ph(&mut self, dice: &mut Dice, visit: &Visit<'_>, text: &mut String) {
        let stored = self.stored;
        let (found, worst) = self.readings(dice, visit, stored, 0);
        let checks = self.checks(dice, visit, stored);
        *text += &format!("    as_found:\n      readings:\n{found}{}{checks}", stores(stored));
        let mut remedies = String::new();
        let remedy = |words: &str, of: &Loop, dice: &mut Dice| {
            let (rows, _) = of.readings(dice, visit, stored, 4);
            format!("      - remedy: {words}\n        readings:\n{rows}")
        };
        if self.probe.film > 1.5 && (self.state()[0] < 90.0 || worst > 0.06) {
            self.probe.film *= dice.between(0.02, 0.15);
            remedies += &remedy("acid soak\n        solution: 0.1 mol/L HCl\n        lasted: 10 min", self, dice);
        }
        if self.probe.junction.abs() > 12.0 {
            self.probe.junction *= dice.between(0.0, 0.2);
            if dice.chance(0.5) {
                remedies += &remedy("reference solution replaced\n        solution: 3 mol/L KCl", self, dice);
            } else {
                remedies += &remedy("junction renewed", self, dice);
                self.probe.junction_renewed = Some(visit.day);
            }
        }
        if self.state()[0] < 81.0 {
            self.renew(dice, visit.day);
            let words = format!(
                "probe replaced\n        probe: {}\n        old_probe: condemned\n        reason: slope too low after cleaning",
                self.plate()
            );
            remedies += &remedy(&words, self, dice);
        }
        let is_adjusted = worst > 0.05 || remedies.contains("probe replaced");
        if !remedies.is_empty() {
            *text += &format!("    remedies:\n{remedies}");
        }
        writeln!(text, "    adjusted: {}", if is_adjusted { "yes" } else { "no" }).unwrap();
        if is_adjusted {
            let [slope, offset] = self.state();
            self.stored = [slope + dice.normal(0.15), offset + dice.normal(0.3)];
        }
        if is_adjusted || !remedies.is_empty() {
            let (left, _) = self.readings(dice, visit, self.stored, 0);
            let checks = self.checks(dice, visit, self.stored);
            *text += &format!("    as_left:\n      readings:\n{left}{}{checks}", stores(self.stored));
        }
        if visit.accepts_old_buffer {
            *text += "    accepted: [{code: lot-expired, reason: \"last bottle of X7, agrees with B7\"}]\n";
        }
        *text += "    outcome: returned to service\n";
        if dice.chance(0.2) {
            let due = visit.day + TimeDelta::days(91);
            writeln!(text, "    next_due: {{date: {due}, agreed_by: quality office}}").unwrap();
        }
    }

    fn renew(&mut self, dice: &mut Dice, day: NaiveDate) {
        self.probes += 1;
        self.probe = probe(dice, format!("G{:03}-{:04}", self.series, 100 + self.probes), day);
    }

    /// Readings in every buffer, indented by so much more; and the largest error shown.
    fn readings(&self, dice: &mut Dice, visit: &Visit<'_>, stored: [f64; 2], more: usize) -> (String, f64) {
        let (mut text, mut worst) = (String::new(), 0.0_f64);
        for (name, buffer) in self.kind.standards().0 {
            let t = tenth(visit.temperature + dice.normal(0.15));
            let ph = buffer.ph(t).unwrap();
            let mv = tenth(self.mv(ph, t) + dice.normal(0.25));
            let shown = shows(mv, t, stored);
            worst = worst.max((shown - ph).abs());
            let after = 30 + 15 * dice.below(5);
            let trace = if dice.chance(0.04) { trace(dice, mv, after) } else { String::new() };
            writeln!(
                text,
                "{:more$}        - {{in: {name}, mv: {mv:.1}, temperature: {t:.1}, after: {after} s, shown: {shown:.2}{trace}}}",
                ""
            )
            .unwrap();
        }
        (text, worst)
    }

    fn mv(&self, ph: f64, t: f64) -> f64 {
        let [slope, offset] = self.state();
        offset + slope / 100.0 * slope_mv_per_ph(t) * (7.0 - ph)
    }

    fn checks(&self, dice: &mut Dice, visit: &Visit<'_>, stored: [f64; 2]) -> String {
        let t = tenth(visit.temperature);
        let mut text = String::new();
        if visit.is_strict || dice.chance(0.5) {
            let ph = Buffer::Technical7.ph(t).unwrap();
            let shown = shows(self.mv(ph, t) + dice.normal(0.3), t, stored);
            let name = self.kind.standards().1;
            writeln!(text, "        standard: {{in: {name}, shown: {shown:.2}, temperature: {t:.1}}}").unwrap();
        }
        if dice.chance(0.6) {
            let seen = t + dice.normal(0.12);
            writeln!(text, "        temperature: [{{reference: {t:.1}, shown: {seen:.1}}}]").unwrap();
        }
        if dice.chance(0.4) {
            let [low, high] = self.kind.range().map(f64::from);
            let shown = (100.0 * dice.between(low + 1.0, high - 1.0)).round() / 100.0;
            let ma = 4.0 + 16.0 * (shown - low) / (high - low) + dice.normal(0.006);
            writeln!(
                text,
                "        output: [{{shown: {shown:.2}, ma: {ma:.2}, control_room: {shown:.2}, simulated: yes}}]"
            )
            .unwrap();
        }
        if text.is_empty() { text } else { format!("      checks:\n{text}") }
    }

    fn redox(&mut self, dice: &mut Dice, visit: &Visit<'_>, text: &mut String) {
        let read = |coat: f64, dice: &mut Dice| {
            let quinhydrone = RedoxValue::Quinhydrone(BufferValue::published(Buffer::Phosphate));
            let mut rows = String::new();
            for (name, value) in [("R1", RedoxValue::Zobell), ("R2", quinhydrone)] {
                let t = tenth(visit.temperature + dice.normal(0.15));
                let mv = value.mv(t, ReferenceElectrode::SilverChloride3).unwrap();
                let mv = (mv + coat + dice.normal(0.8)).round() as i64;
                writeln!(rows, "        - {{in: {name}, mv: {mv}, temperature: {t:.1}, after: 2 min, shown: {mv}}}")
                    .unwrap();
            }
            rows
        };
        let coat = |probe: &Probe| -2.5 * probe.film + 0.4 * probe.junction;
        *text += &format!("    as_found:\n      readings:\n{}", read(coat(&self.probe), dice));
        let is_coated = coat(&self.probe).abs() > 8.0;
        if is_coated {
            self.probe.film *= dice.between(0.0, 0.1);
            self.probe.junction *= 0.5;
            *text += "    remedies:\n      - {remedy: metal polished, note: fine polish on the metal ring only}\n";
        }
        *text += "    adjusted: no\n";
        if is_coated {
            *text += &format!("    as_left:\n      readings:\n{}", read(coat(&self.probe), dice));
        }
        *text += "    outcome: returned to service\n";
    }

    /// The glass was found broken since the last visit.
    fn replaced_unseen(&mut self, dice: &mut Dice, visit: &Visit<'_>, text: &mut String) {
        self.renew(dice, visit.day);
        *text += &format!(
            "    as_found: {{not_obtained: glass broken}}\n    remedies:\n      - remedy: probe replaced\n        probe: {}\n        \
             old_probe: condemned\n        reason: broken glass\n",
            self.plate()
        );
        if self.kind == Kind::Redox {
            let mut after = String::new();
            self.redox(dice, visit, &mut after);
            let readings = after.split("    adjusted").next().unwrap_or_default().replace("as_found", "as_left");
            *text += &format!("    adjusted: no\n{readings}    outcome: returned to service\n");
            return;
        }
        self.stored = self.state().map(|value| value + dice.normal(0.15));
        let (left, _) = self.readings(dice, visit, self.stored, 0);
        let checks = self.checks(dice, visit, self.stored);
        *text += &format!("    adjusted: yes\n    as_left:\n      readings:\n{left}{}{checks}", stores(self.stored));
        if visit.accepts_old_buffer && checks.contains("X7") {
            *text += "    accepted: [{code: lot-expired, reason: \"last bottle of X7, agrees with B7\"}]\n";
        }
        *text += "    outcome: returned to service\n";
    }
}

fn probe(dice: &mut Dice, serial: String, installed: NaiveDate) -> Probe {
    let (slope, offset) = (dice.between(97.0, 99.8), dice.normal(3.0));
    Probe { serial, installed, junction_renewed: None, slope, offset, film: 0.0, junction: 0.0, is_broken: false }
}

fn tenth(value: f64) -> f64 {
    (10.0 * value).round() / 10.0
}

fn stores([slope, offset]: [f64; 2]) -> String {
    format!("      stored: {{slope: {slope:.1} %, offset: {offset:.1} mV, compensation: automatic}}\n")
}

/// pH that an analyser shows with a slope in percent and an offset in mV.
fn shows(mv: f64, t: f64, [slope, offset]: [f64; 2]) -> f64 {
    7.0 - (mv - tenth(offset)) / (tenth(slope) / 100.0 * slope_mv_per_ph(t))
}

/// How the potential came to its final value.
fn trace(dice: &mut Dice, mv: f64, after: usize) -> String {
    let (tau, from) = (after as f64 / dice.between(6.0, 9.0), mv - dice.between(40.0, 120.0));
    let at = |seconds: f64| mv + (from - mv) * (-seconds / tau).exp();
    let steps: Vec<String> = (1..=8)
        .map(|step| after * step / 8)
        .map(|seconds| {
            if seconds == after {
                format!("[{seconds}, {mv:.1}]")
            } else {
                format!("[{seconds}, {:.1}]", at(seconds as f64))
            }
        })
        .collect();
    format!(", trace: [{}]", steps.join(", "))
}
