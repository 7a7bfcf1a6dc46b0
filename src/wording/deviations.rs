//! The sentence of a deviation, from its code and facts.
//!
//! A key of the catalogue is the code, or the code and its case; `each` says one of several facts.

use super::Wording;
use crate::problem::{Fact, Facts};
use crate::record::SlipRecord;
use crate::rounding::{DecimalSign, fixed, prose, signed, typed, with_unit};
use std::collections::BTreeMap;

/// Slips that are deviations of their own: readings that were copied, figures that somebody stated.
const OF_ITS_OWN: [&str; 3] = ["copied-from-as-found", "copied-from-target", "stated-disagrees"];

impl Wording {
    /// What the deviation of a code says, among the slips of its loop; none where the catalogue has no sentence that the
    /// facts fill.
    pub fn deviation(&self, code: &str, facts: &Facts, slips: &[SlipRecord], sign: DecimalSign) -> Option<String> {
        let Facts { case, named } = facts;
        let mut fill = self.filled(code, named, sign)?;
        fill.insert("slips", self.slips_of(slips, named, sign));
        let case = case.map_or_else(String::new, |case| format!(" {case}"));
        self.try_say(&format!("deviation {code}{case}"), &fill)
    }

    /// The facts as texts.
    fn filled(
        &self,
        code: &str,
        named: &BTreeMap<&'static str, Fact>,
        sign: DecimalSign,
    ) -> Option<BTreeMap<&'static str, String>> {
        let text = |fact: &Fact| {
            Some(match fact {
                Fact::Text(text) => prose(text),
                Fact::Typed(text) => typed(text, sign),
                Fact::Number { value, decimals, unit, signed: false } => {
                    with_unit(&fixed(*value, *decimals, sign), unit)
                }
                Fact::Number { value, decimals, unit, signed: true } => {
                    with_unit(&signed(*value, *decimals, sign), unit)
                }
                Fact::Time(text) => self.time(text),
                Fact::Stage(stage) => self.stage(stage),
                Fact::Word { group, code } => self.word(group, code).to_owned(),
                Fact::Each(facts) => {
                    let key = format!("deviation {code} each");
                    let one = |facts| self.try_say(&key, &self.filled(code, facts, sign)?);
                    facts.iter().map(one).collect::<Option<Vec<String>>>()?.join(", ")
                }
            })
        };
        named.iter().map(|(name, fact)| Some((*name, text(fact)?))).collect()
    }

    /// The slips that would explain the set of readings that a deviation names.
    fn slips_of(&self, slips: &[SlipRecord], named: &BTreeMap<&'static str, Fact>, sign: DecimalSign) -> String {
        let of_stage = |stage: &str| matches!(named.get("stage"), Some(Fact::Stage(own)) if own == stage);
        let slips = slips.iter().filter(|slip| of_stage(&slip.figures.stage) && !OF_ITS_OWN.contains(&slip.code));
        let said = slips.map(|slip| self.slip(slip, sign)).map(|said| format!("{} {}", said.what, said.evidence));
        said.collect::<Vec<_>>().join(" ")
    }

    /// `As found`, `As left`, `After “Acid soak”`, from a stage of the record.
    pub fn stage(&self, stage: &str) -> String {
        match stage.strip_prefix("after «").and_then(|rest| rest.strip_suffix('»')) {
            Some(remedy) => self.say("deviation stage-after", &[("remedy", self.word("remedy", remedy))]),
            None if stage == "as found" => self.label("deviation stage-found").to_owned(),
            None => self.label("deviation stage-left").to_owned(),
        }
    }
}
