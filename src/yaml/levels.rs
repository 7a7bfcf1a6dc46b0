//! Where each key of the five kinds of file belongs, to help with a key at the wrong level.

/// Key and the places where it belongs, in the words of the files. A key of the visit that names a thing of the client
/// or kit file too is listed with both.
const LEVELS: &[(&str, &str)] = &[
    // visit
    ("visit", "the top of a visit file"),
    ("number", "`visit:`"),
    ("started", "`visit:`"),
    ("finished", "`visit:`"),
    ("client", "`visit:`, or the top of a client file"),
    ("site", "`visit:`, or a loop of a client file"),
    ("order", "`visit:`"),
    ("kit", "`visit:`"),
    ("limits", "`visit:`, a loop, a client file or the firm file"),
    ("technicians", "`visit:`"),
    ("procedure", "`visit:`, or the firm file"),
    ("revision", "`procedure:`, or `limits:` of a limits file"),
    ("conditions", "`visit:`"),
    ("ambient", "`conditions:`"),
    ("loops", "the top of a visit file or a client file"),
    ("signatures", "the top of a visit file, or the firm file"),
    ("role", "an entry of `signatures:`"),
    ("signed", "an entry of `signatures:`"),
    ("qualification", "an entry of `technicians:`, or of `people:` in the firm file"),
    // loop
    ("tag", "an entry of `loops:`"),
    ("quantity", "an entry of `loops:`"),
    ("location", "an entry of `loops:`"),
    ("range", "an entry of `loops:`"),
    ("analyser", "an entry of `loops:`"),
    ("probe", "an entry of `loops:`, or a remedy `probe replaced`"),
    ("hold", "an entry of `loops:`"),
    ("process", "an entry of `loops:`"),
    ("last_good", "an entry of `loops:`"),
    ("as_found", "an entry of `loops:`"),
    ("as_left", "an entry of `loops:`"),
    ("remedies", "an entry of `loops:`"),
    ("adjusted", "an entry of `loops:`"),
    ("standardised", "an entry of `loops:`"),
    ("outcome", "an entry of `loops:`"),
    ("next_due", "an entry of `loops:`"),
    ("accepted", "an entry of `loops:`"),
    ("photos", "an entry of `loops:`"),
    ("remarks", "an entry of `loops:`"),
    ("model", "`analyser:` or `probe:`"),
    ("temperature_element", "`probe:`"),
    ("installed", "`probe:`"),
    ("junction_renewed", "`probe:`"),
    ("condition", "`probe:`"),
    ("usual", "`process:`"),
    ("before_cleaning", "`process:`"),
    ("after_cleaning", "`process:`"),
    ("back_in_service", "`process:`"),
    ("conductivity", "`process:`"),
    ("readings", "`as_found:`, `as_left:` or a remedy"),
    ("stated", "`as_found:`"),
    ("stored", "`as_found:` or `as_left:`"),
    ("checks", "`as_found:` or `as_left:`"),
    ("compensation", "`stored:`"),
    ("difference", "`stated:`"),
    ("in", "a reading, a check `standard:`, or a quinhydrone standard"),
    ("mv", "a reading, or `difference:`"),
    ("after", "a reading"),
    ("trace", "a reading"),
    ("excluded", "a reading"),
    ("with", "a reading"),
    ("assumed", "`temperature:` of a reading"),
    ("shown", "a reading, a check, or `standardised:`"),
    ("set_to", "`standardised:`"),
    ("not_obtained", "`as_found:` or `as_left:`"),
    ("not_done", "a check"),
    ("remedy", "an entry of `remedies:`"),
    ("solution", "an entry of `remedies:`"),
    ("lasted", "an entry of `remedies:`"),
    ("old_probe", "a remedy `probe replaced`"),
    ("agreed_by", "`next_due:`"),
    ("code", "an entry of `accepted:`"),
    ("file", "an entry of `photos:`"),
    ("shows", "an entry of `photos:`"),
    ("standard", "`checks:`"),
    ("sample", "`checks:`"),
    ("glass_resistance", "`checks:`"),
    ("reference_resistance", "`checks:`"),
    ("resistance", "a check `temperature:`"),
    ("ma", "a check `output:`"),
    ("control_room", "a check `output:`"),
    ("simulated", "a check `output:`"),
    ("taken", "a check `sample:`"),
    ("measured", "a check `sample:`"),
    ("method", "a check `sample:`"),
    ("source", "a check `sample:`"),
    // kit
    ("standards", "`visit:`, or the top of a kit file"),
    ("instruments", "`visit:`, or the top of a kit file"),
    ("buffer", "an entry of `standards:`"),
    ("redox", "an entry of `standards:`, or the top of a limits file"),
    ("maker", "an entry of `standards:`"),
    ("lot", "an entry of `standards:`"),
    ("expires", "an entry of `standards:`"),
    ("opened", "an entry of `standards:`"),
    ("certificate", "an entry of `standards:` or `instruments:`"),
    ("expanded_uncertainty", "an entry of `standards:` or `instruments:`"),
    ("coverage_factor", "an entry of `standards:` or `instruments:`"),
    ("table", "`buffer:` or `redox:` of a standard"),
    ("against", "`redox:` of a standard"),
    ("measures", "an entry of `instruments:`"),
    ("calibrated", "an entry of `instruments:`"),
    ("due", "an entry of `instruments:`"),
    // client
    ("sites", "the top of a client file"),
    ("time_zone", "an entry of `sites:` in a client file"),
    ("address", "`client:`, `firm:` or an entry of `sites:`"),
    ("contact", "`client:` or `firm:`"),
    ("language", "the top of a client file or the firm file"),
    ("keep", "the top of a client file or a limits file"),
    // limits
    ("effective", "`limits:` of a limits file"),
    ("approved_by", "`limits:` of a limits file"),
    ("basis", "`limits:` of a limits file"),
    ("requirements", "the top of a limits file"),
    ("decision", "the top of a limits file"),
    ("guard", "`decision:`"),
    ("reproducibility", "the top of a limits file"),
    ("dof", "`reproducibility:`"),
    ("pH", "the top of a limits file"),
    ("as_found_error", "`pH:` or `redox:` of a limits file"),
    ("as_left_error", "`pH:` or `redox:` of a limits file"),
    ("check_standard", "`pH:` or `redox:` of a limits file"),
    ("settling", "`pH:` or `redox:` of a limits file"),
    ("junction_age", "`pH:` of a limits file"),
    ("gain", "`redox:` of a limits file"),
    ("slope", "`stored:` or `stated:`, or `pH:` of a limits file"),
    ("offset", "`stored:` or `stated:`, or `pH:` of a limits file"),
    ("temperature", "a reading or `checks:`, or `pH:` or `redox:` of a limits file"),
    ("output", "an entry of `loops:` or `checks:`, or `pH:` or `redox:` of a limits file"),
    ("warn_below", "a criterion of a limits file"),
    ("warn_above", "a criterion of a limits file"),
    ("warn_beyond", "a criterion of a limits file"),
    ("fail_below", "a criterion of a limits file"),
    ("fail_above", "a criterion of a limits file"),
    ("fail_beyond", "a criterion of a limits file"),
    // firm
    ("firm", "the top of the firm file"),
    ("logo", "the top of the firm file"),
    ("accent", "the top of the firm file"),
    ("paper", "the top of the firm file"),
    ("decimal_sign", "the top of the firm file"),
    ("numbering", "the top of the firm file"),
    ("footer", "the top of the firm file"),
    ("accreditation", "the top of the firm file"),
    ("people", "the top of the firm file"),
    ("fonts", "the top of the firm file"),
    ("attachments", "the top of the firm file"),
    ("interval", "the top of the firm file"),
];

/// Keys that stand in many places: known, but no help in saying where one belongs.
const EVERYWHERE: &[&str] =
    &["name", "note", "reason", "at", "by", "date", "from", "to", "value", "make", "serial", "reference", "u"];

/// Where a key belongs, if it is one of the files' keys and belongs to few places.
pub(super) fn belongs(key: &str) -> Option<&'static str> {
    LEVELS.iter().find(|(known, _)| *known == key).map(|(_, place)| *place)
}

/// Whether a key is one of the files' keys.
pub(super) fn is_known(key: &str) -> bool {
    belongs(key).is_some() || EVERYWHERE.contains(&key)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_key_stands_once() {
        let mut seen = std::collections::BTreeSet::new();
        for key in LEVELS.iter().map(|(key, _)| *key).chain(EVERYWHERE.iter().copied()) {
            assert!(seen.insert(key), "{key}");
        }
    }

    #[test]
    fn a_lot_belongs_to_the_standards() {
        assert_eq!(belongs("lot"), Some("an entry of `standards:`"));
        assert_eq!(belongs("lott"), None);
        assert!(is_known("note"));
    }
}
