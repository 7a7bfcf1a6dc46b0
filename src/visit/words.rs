//! The words that a visit file uses for outcomes, remedies, old probes and compensation.

use super::{Compensation, OldProbe, Outcome, RemedyKind};

impl Outcome {
    /// Every outcome with its word.
    pub const WORDS: &[(&str, Outcome)] = &[
        ("returned to service", Outcome::Returned),
        ("left out of service", Outcome::OutOfService),
        ("condemned", Outcome::Condemned),
    ];

    /// The word as written in a visit file.
    pub const fn word(self) -> &'static str {
        match self {
            Outcome::Returned => "returned to service",
            Outcome::OutOfService => "left out of service",
            Outcome::Condemned => "condemned",
        }
    }
}

impl OldProbe {
    /// Every fate of an old probe with its word.
    pub const WORDS: &[(&str, OldProbe)] =
        &[("condemned", OldProbe::Condemned), ("kept", OldProbe::Kept), ("returned", OldProbe::Returned)];

    /// The word as written in a visit file.
    pub const fn word(self) -> &'static str {
        match self {
            OldProbe::Condemned => "condemned",
            OldProbe::Kept => "kept",
            OldProbe::Returned => "returned",
        }
    }
}

impl Compensation {
    /// Every kind of temperature compensation with its word.
    pub const WORDS: &[(&str, Compensation)] = &[
        ("automatic", Compensation::Automatic),
        ("manual", Compensation::Manual),
        ("solution", Compensation::Solution),
    ];

    /// The word as written in a visit file.
    pub const fn word(self) -> &'static str {
        match self {
            Compensation::Automatic => "automatic",
            Compensation::Manual => "manual",
            Compensation::Solution => "solution",
        }
    }
}

const fn pair(kind: RemedyKind) -> (&'static str, RemedyKind) {
    (kind.word(), kind)
}

impl RemedyKind {
    /// Every remedy with its word, the gentlest first as the trade does them.
    pub const WORDS: &[(&str, RemedyKind)] = &[
        pair(RemedyKind::Rinsed),
        pair(RemedyKind::Wiped),
        pair(RemedyKind::Detergent),
        pair(RemedyKind::AcidSoak),
        pair(RemedyKind::PepsinSoak),
        pair(RemedyKind::Bleach),
        pair(RemedyKind::RehydratedInBuffer),
        pair(RemedyKind::StorageSoak),
        pair(RemedyKind::BubbleRemoved),
        pair(RemedyKind::ElectrolyteToppedUp),
        pair(RemedyKind::ReferenceSolutionReplaced),
        pair(RemedyKind::JunctionCleaned),
        pair(RemedyKind::JunctionRenewed),
        pair(RemedyKind::MetalPolished),
        pair(RemedyKind::ConnectorDried),
        pair(RemedyKind::CableReplaced),
        pair(RemedyKind::WiringCorrected),
        pair(RemedyKind::EarthingCorrected),
        pair(RemedyKind::TemperatureElementReplaced),
        pair(RemedyKind::AnalyserReplaced),
        pair(RemedyKind::OutputRescaled),
        pair(RemedyKind::ProbeReplaced),
        pair(RemedyKind::Other),
    ];

    /// The words as written in a visit file.
    pub const fn word(self) -> &'static str {
        match self {
            RemedyKind::Rinsed => "rinsed",
            RemedyKind::Wiped => "wiped",
            RemedyKind::Detergent => "cleaned with detergent and soft brush",
            RemedyKind::AcidSoak => "acid soak",
            RemedyKind::PepsinSoak => "pepsin soak",
            RemedyKind::Bleach => "disinfected with bleach",
            RemedyKind::RehydratedInBuffer => "rehydrated in buffer",
            RemedyKind::StorageSoak => "storage solution soak",
            RemedyKind::BubbleRemoved => "bubble removed",
            RemedyKind::ElectrolyteToppedUp => "electrolyte topped up",
            RemedyKind::ReferenceSolutionReplaced => "reference solution replaced",
            RemedyKind::JunctionCleaned => "junction cleaned",
            RemedyKind::JunctionRenewed => "junction renewed",
            RemedyKind::MetalPolished => "metal polished",
            RemedyKind::ConnectorDried => "connector dried",
            RemedyKind::CableReplaced => "cable replaced",
            RemedyKind::WiringCorrected => "wiring corrected",
            RemedyKind::EarthingCorrected => "earthing corrected",
            RemedyKind::TemperatureElementReplaced => "temperature element replaced",
            RemedyKind::AnalyserReplaced => "analyser replaced",
            RemedyKind::OutputRescaled => "output rescaled",
            RemedyKind::ProbeReplaced => "probe replaced",
            RemedyKind::Other => "other",
        }
    }

    /// Whether the potential of the probe can be another one afterwards: everything but work on the analyser alone.
    pub const fn touches_potential(self) -> bool {
        !matches!(
            self,
            RemedyKind::TemperatureElementReplaced | RemedyKind::AnalyserReplaced | RemedyKind::OutputRescaled
        )
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_word_leads_back_to_its_value() {
        for (position, (word, kind)) in RemedyKind::WORDS.iter().enumerate() {
            assert_eq!((*word, position), (kind.word(), *kind as usize));
        }
        assert_eq!(RemedyKind::WORDS.len(), RemedyKind::Other as usize + 1);
        for (word, outcome) in Outcome::WORDS {
            assert_eq!(*word, outcome.word());
        }
        for (word, old_probe) in OldProbe::WORDS {
            assert_eq!(*word, old_probe.word());
        }
        for (word, compensation) in Compensation::WORDS {
            assert_eq!(*word, compensation.word());
        }
    }
}
