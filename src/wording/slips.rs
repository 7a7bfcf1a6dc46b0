//! The sentences of a slip: what it would be, and what speaks for it.

use super::Wording;
use crate::record::{SlipRecord, SlipSaid};
use crate::rounding::{DecimalSign, fixed, typed, with_unit};

impl Wording {
    /// What a slip would be, and what speaks for it, from its code and figures; keys `slip CODE what`, `slip CODE what all`,
    /// `slip CODE evidence`. A set without a line after the change has its own evidence.
    pub fn slip(&self, slip: &SlipRecord, sign: DecimalSign) -> SlipSaid {
        let figures = &slip.figures;
        let number = |value: Option<f64>, unit: &str| {
            value.map_or_else(|| "–".to_owned(), |value| with_unit(&fixed(value, 1, sign), unit))
        };
        let text = |text: &Option<String>| text.clone().unwrap_or_default();
        let fill: [(&str, String); 11] = [
            ("stage", self.stage(&figures.stage)),
            ("reading", text(&figures.reading)),
            ("other", text(&figures.other)),
            ("figure", figures.figure.to_owned()),
            ("typed", typed(&text(&figures.typed), sign)),
            ("would_be", figures.would_be_text(sign)),
            ("buffer", self.word("standard", &text(&figures.would_be_buffer)).to_owned()),
            ("slope_typed", number(figures.slope_percent_typed, "%")),
            ("offset_typed", number(figures.offset_mv_typed, "mV")),
            ("slope", number(figures.slope_percent, "%")),
            ("offset", number(figures.offset_mv, "mV")),
        ];
        let fill: Vec<(&str, &str)> = fill.iter().map(|(name, text)| (*name, text.as_str())).collect();
        let all = if figures.all { " all" } else { "" };
        let by = match (figures.slope_percent, slip.code) {
            (Some(_), _) => "slip line evidence".to_owned(),
            (None, code) => format!("slip {code} evidence"),
        };
        let told = |key: &str| match self.labels.get(key) {
            Some(label) => label.clone(),
            None => self.say(key, &fill),
        };
        SlipSaid { what: told(&format!("slip {} what{all}", slip.code)), evidence: told(&by) }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::engine::slips::Kind;
    use crate::record::SlipFigures;
    use crate::wording::english;

    fn said(kind: Kind, all: bool, slope_percent: Option<f64>) -> SlipSaid {
        let figures = SlipFigures {
            stage: "as found".to_owned(),
            reading: Some("B4".to_owned()),
            other: Some("B7".to_owned()),
            all,
            figure: "mv",
            typed: Some("16.84".to_owned()),
            would_be: Some(168.4),
            decimals: 1,
            unit: "mV",
            would_be_buffer: Some("carbonate".to_owned()),
            slope_percent_typed: Some(4.8),
            offset_mv_typed: Some(8.0),
            slope_percent,
            offset_mv: slope_percent.map(|_| 0.65),
            ..SlipFigures::default()
        };
        english().slip(&SlipRecord { code: kind.code(), figures, said: None }, DecimalSign::Point)
    }

    #[test]
    fn every_slip_has_its_sentences() {
        let search = [
            (Kind::BuffersExchanged, false),
            (Kind::SignLost, false),
            (Kind::SignLost, true),
            (Kind::DigitsExchanged, false),
            (Kind::PointMoved, false),
            (Kind::Fahrenheit, false),
            (Kind::Fahrenheit, true),
            (Kind::Volts, false),
            (Kind::Volts, true),
            (Kind::BufferFamily, false),
            (Kind::PhAsMv, false),
            (Kind::PhAsMv, true),
        ];
        for (kind, all) in search {
            let said = said(kind, all, Some(94.6));
            assert!(said.what.starts_with("As found") && said.evidence.contains("94.6\u{a0}%"), "{said:?}");
        }
        let others = [
            (Kind::PhAsMv, true),
            (Kind::CopiedFromAsFound, true),
            (Kind::CopiedFromTarget, true),
            (Kind::StatedDisagrees, false),
        ];
        for (kind, all) in others {
            let said = said(kind, all, None);
            assert!(!said.what.is_empty() && said.evidence.ends_with('.'), "{said:?}");
        }
    }

    #[test]
    fn a_moved_point_is_told_with_both_figures() {
        let said = said(Kind::PointMoved, false, Some(94.6));
        assert!(said.what.contains("16.84") && said.what.contains("168.4\u{a0}mV"), "{}", said.what);
    }
}
