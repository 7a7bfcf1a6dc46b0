//! Amendments and re-evaluations: nobody takes them for another visit, both formats say the same in every language, and the
//! PDFs are fit for the archive. `HALFCELL_LOOK=folder` keeps them for the eye.

mod page_tools;

use halfcell::client::LANGUAGES;
use halfcell::document::{self, Document, is_draft};
use halfcell::firm::Firm;
use halfcell::paint::{self, Paintable};
use halfcell::record::{
    AuthorisedFacts, BeforeCriterion, BeforeFacts, CertificateFacts, ChangeFacts, LimitRecord, OutcomeWord, Record,
    Stage, Verdict,
};
use halfcell::requirements::{review_among, weigh};
use halfcell::visit::{Given, open};
use std::path::{Path, PathBuf};

/// The records of an example and the firm, its documents in a language.
fn example(file: &str, language: &str) -> (Vec<Record>, Firm) {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("examples/visits").join(file);
    let reviewed = review_among(weigh(open(&path, &Given::default())), &[]);
    let mut records = reviewed.records;
    for record in &mut records {
        record.client.language = Some(language.to_owned());
        record.certificate.number = Some(format!("{}-{}", record.visit.number, record.tag));
        record.certificate.issued = Some("2026-11-02 09:00 +01:00".to_owned());
        record.certificate.registered = Some("0123456789abcdef".repeat(4));
    }
    (records, Firm { decimal_sign: None, ..reviewed.firm })
}

fn change(file: &str, field: &str, old: Option<&str>, new: Option<&str>) -> ChangeFacts {
    ChangeFacts {
        file: file.to_owned(),
        field: field.to_owned(),
        old: old.map(str::to_owned),
        new: new.map(str::to_owned),
    }
}

/// What every document that follows the original `number` says of itself.
fn following(kind: &str, number: &str, suffix: &str, facts: &CertificateFacts) -> CertificateFacts {
    CertificateFacts {
        number: Some(format!("{number}-{suffix}")),
        kind: kind.to_owned(),
        replaces: Some(number.to_owned()),
        original: Some(number.to_owned()),
        original_issued: Some("2026-10-07 09:00 +01:00".to_owned()),
        requested_by: Some("M. Orrisby".to_owned()),
        ..facts.clone()
    }
}

/// What a record says of itself, as the one before would have said it.
fn before(record: &Record) -> BeforeFacts {
    let left = record.as_left.as_ref();
    BeforeFacts {
        tag: record.tag.clone(),
        limits: record.limits.name.clone(),
        limits_revision: record.limits.revision.clone(),
        decision: Some(record.limits.decision.clone()),
        as_found: record.as_found.verdict,
        as_left: left.and_then(|left| left.verdict),
        found_slope_percent: record.as_found.figures.slope_percent,
        found_offset_mv: record.as_found.figures.offset_mv,
        left_slope_percent: left.and_then(|left| left.figures.slope_percent),
        left_offset_mv: left.and_then(|left| left.figures.offset_mv),
        criteria: Vec::new(),
    }
}

/// A redox loop with two slips of the pen corrected: the verdict as found becomes a fail.
fn amended(language: &str) -> (Vec<Record>, Firm) {
    let (mut records, firm) = example("2026-09-08-redox.yaml", language);
    let record = &mut records[0];
    let number = record.certificate.number.clone().unwrap();
    let criterion = record.criteria.iter().find(|it| it.name == "as_found_error").unwrap();
    let was = BeforeCriterion {
        name: criterion.name.to_owned(),
        stage: criterion.stage,
        of: criterion.of.clone(),
        value: Some(-17.0),
        limit: criterion.limit.clone(),
        outcome: OutcomeWord::Pass,
    };
    let file = "2026-09-08-redox.yaml";
    record.certificate = CertificateFacts {
        reason: Some("The display was misread: 204 mV stood on the sheet, 214 mV was typed".to_owned()),
        before: vec![BeforeFacts { as_found: Some(Verdict::Pass), criteria: vec![was], ..before(record) }],
        changes: vec![
            change(file, "loops › AT-142 › as_found › readings › 1 › mv", Some("214"), Some("204")),
            change(file, "loops › AT-142 › as_found › 1 › shown", Some("214.5"), Some("204")),
            change(file, "visit › finished", Some("2026-09-08T11:20+01:00"), Some("2026-09-08T11:30+01:00")),
            change("../kit.yaml", "standards › R1 › lot", None, Some("LZ-0093")),
        ],
        ..following("amendment", &number, "A1", &record.certificate)
    };
    (records, firm)
}

/// An amendment of an amendment with more changes than stand on a page, and long ones.
fn amended_again(language: &str) -> (Vec<Record>, Firm) {
    let (mut records, firm) = example("2026-06-16-when-to-renew.yaml", language);
    let record = &mut records[0];
    let number = record.certificate.number.clone().unwrap();
    let old = "Scale on the bulb; the operators had rinsed with tap water in the morning and put the probe back wet. "
        .repeat(4);
    let mut changes = vec![
        change("v.yaml", "loops › AT-118 › remarks", Some(old.as_str()), Some("Scale on the bulb.")),
        change("v.yaml", "loops › AT-118 › x-workorder", Some("00417"), Some("00471")),
        change("v.yaml", "something › never › heard of", Some("1"), None),
    ];
    changes.extend((1..=60).map(|at| {
        let field = format!("loops › AT-118 › as_found › readings › {at} › temperature");
        change("v.yaml", &field, Some("-0.5 °C"), Some("15.1"))
    }));
    record.certificate = CertificateFacts {
        replaces: Some(format!("{number}-A1")),
        reason: Some("The sheet of another loop had been typed in".to_owned()),
        before: vec![before(record)],
        changes,
        ..following("amendment", &number, "A2", &record.certificate)
    };
    (records, firm)
}

/// A loop judged by the client's stricter limits a year later, in which a pass becomes a fail.
fn re_evaluated(language: &str) -> (Vec<Record>, Firm) {
    let (mut records, firm) = example("2026-09-15-stricter-limits.yaml", language);
    records.truncate(1);
    let record = &mut records[0];
    let number = record.certificate.number.clone().unwrap();
    let slope = |stage, limit: [Option<f64>; 4], outcome| {
        let [warn_low, warn_high, fail_low, fail_high] = limit;
        let limit = LimitRecord { warn_low, warn_high, fail_low, fail_high, decimals: 0 };
        let now = record.criteria.iter().find(|it| it.name == "slope" && it.stage == stage);
        BeforeCriterion { name: "slope".into(), stage, of: None, value: now.and_then(|it| it.value), limit, outcome }
    };
    let old = [Some(80.0), None, Some(70.0), Some(105.0)];
    let mut unasked = slope(Stage::AsFound, [None; 4], OutcomeWord::NotJudged);
    unasked.name = "settling".to_owned();
    unasked.value = None;
    let criteria =
        vec![slope(Stage::AsFound, old, OutcomeWord::Pass), slope(Stage::AsLeft, old, OutcomeWord::Pass), unasked];
    record.certificate = CertificateFacts {
        reason: Some("The dairy asks for a slope of 90 % since October".to_owned()),
        requested_by: Some("quality office of the dairy".to_owned()),
        authorised: Some(AuthorisedFacts { name: "M. Orrisby".into(), signed: "2026-11-02 08:40 +01:00".into() }),
        before: vec![BeforeFacts {
            limits: "hurdlemere-standard".into(),
            limits_revision: Some("4".into()),
            decision: Some("guard 0.5".into()),
            as_found: Some(Verdict::Pass),
            criteria,
            ..before(record)
        }],
        ..following("re-evaluation", &number, "E1", &record.certificate)
    };
    (records, firm)
}

/// A summary of ten loops, of which one was judged otherwise.
fn summary(kind: &str, language: &str) -> (Document, Vec<Record>) {
    let (records, firm) = example("2026-10-06-ten-loops.yaml", language);
    let mut before: Vec<BeforeFacts> = records.iter().map(before).collect();
    before[0].as_found = Some(Verdict::ConditionalFail);
    before[1].limits = "hurdlemere-standard".into();
    before[1].limits_revision = Some("3".into());
    let number = records[0].visit.number.clone();
    let facts = CertificateFacts {
        reason: Some("The kit named another lot".to_owned()),
        before,
        changes: match kind {
            "amendment" => {
                vec![change("visit.yaml", "loops › AT-101 › outcome", Some("condemned"), Some("returned to service"))]
            }
            _ => Vec::new(),
        },
        ..following(kind, &number, if kind == "amendment" { "A1" } else { "E1" }, &records[0].certificate)
    };
    (document::summary(&records, &firm, &facts).unwrap(), records)
}

/// Every document of this test in a language.
fn documents(language: &str) -> Vec<Document> {
    let certificates = [amended(language), amended_again(language), re_evaluated(language)];
    let mut all: Vec<Document> =
        certificates.iter().map(|(records, firm)| document::certificate(&records[0], firm)).collect();
    let (mut records, firm) = re_evaluated(language);
    records[0].certificate.authorised = None;
    records[0].certificate.number = records[0].certificate.number.take().map(|number| number + "-D1");
    all.push(document::certificate(&records[0], &firm));
    all.extend(["amendment", "re-evaluation"].map(|kind| summary(kind, language).0));
    all
}

/// A text without white space.
fn dense(text: &str) -> String {
    text.chars().filter(|c| !c.is_whitespace() && !['\u{a0}', '\u{202f}'].contains(c)).collect()
}

/// The text of a page of HTML without its tags and style.
fn page_text(html: &str) -> String {
    let page = scraper::Html::parse_document(html);
    let main = scraper::Selector::parse("main, footer").unwrap();
    page.select(&main).flat_map(|element| element.text().map(str::to_owned).collect::<Vec<_>>()).collect()
}

fn english(document: &Document) -> String {
    page_text(&paint::html::paint(&Paintable::new(document.clone())))
}

#[test]
fn both_formats_say_the_same_in_every_language_and_are_fit_for_the_archive() {
    let folder = tempfile::tempdir().unwrap();
    let look = std::env::var_os("HALFCELL_LOOK").map(PathBuf::from);
    let out = look.as_deref().unwrap_or(folder.path());
    let press = paint::pdf::Press::new();
    let mut files = Vec::new();
    for (_, language) in LANGUAGES {
        for (at, document) in documents(language).into_iter().enumerate() {
            let paintable = Paintable::new(document);
            assert_eq!(paintable.missing(), [], "a glyph for every character");
            let stem = format!("{language}-{at}-{}", paintable.document().number);
            let (pdf, html) = (out.join(format!("{stem}.pdf")), paint::html::paint(&paintable));
            std::fs::write(&pdf, paint::pdf::paint(&paintable, &press)).unwrap();
            std::fs::write(out.join(format!("{stem}.html")), &html).unwrap();
            let page = scraper::Html::parse_document(&html);
            let blocks =
                scraper::Selector::parse("main h1, main .title p, main h2, main dt, main dd, main td, main p").unwrap();
            let Some(text) = page_tools::run("pdftotext", &["-raw", "-enc", "UTF-8", &pdf.to_string_lossy(), "-"])
            else {
                return;
            };
            let text = dense(&text);
            for block in page.select(&blocks) {
                let said = dense(&block.text().collect::<String>());
                // A long one may be parted by the foot and head of a page.
                let said: String = said.chars().take(60).collect();
                assert!(text.contains(&said), "{stem}: «{said}» is not in the PDF");
            }
            files.push(pdf);
        }
    }
    page_tools::fit(&files);
}

#[test]
fn an_amendment_is_headed_as_one_and_tells_what_changed_and_what_follows() {
    let (records, firm) = amended("en");
    let document = document::certificate(&records[0], &firm);
    assert_eq!(document.title, "Amendment to record HM-2026-066-AT-142");
    assert_eq!(document.running.draft, None);
    assert!(document.running.footer_left[0].starts_with("Amendment to HM-2026-066-AT-142."));
    let said = dense(&english(&document));
    for wanted in [
        "Replaces HM-2026-066-AT-142 Issued 2026-11-02 09:00 +01:00",
        "Reason The display was misread: 204 mV stood on the sheet, 214 mV was typed Asked for by M. Orrisby",
        "As found pass fail",
        "Largest error (R1), mV, as found −17, pass −27, fail",
        "In 2026-09-08-redox.yaml",
        "As found, reading 1, potential (mV) 214 204",
        "As found, reading 1, shown 214.5 204",
        "End 2026-09-08 11:20 +01:00 2026-09-08 11:30 +01:00",
        "In ../kit.yaml",
        "Standard R1, lot not there LZ-0093",
    ] {
        assert!(said.contains(&dense(wanted)), "«{wanted}» is not said");
    }
    assert!(!said.contains("Firstoriginal"), "it is the one replaced");
    let (german, firm) = amended("de");
    let said = dense(&english(&document::certificate(&german[0], &firm)));
    assert!(said.contains(&dense("Vorgefunden, Messwert 1, angezeigt 214,5 204")), "{said}");
}

/// The pages of the PDF of a document; none where there is no tool for it.
fn pages(document: Document) -> Option<usize> {
    let folder = tempfile::tempdir().unwrap();
    let pdf = folder.path().join("document.pdf");
    std::fs::write(&pdf, paint::pdf::paint(&Paintable::new(document), &paint::pdf::Press::new())).unwrap();
    let told = page_tools::run("pdfinfo", &[&pdf.to_string_lossy()])?;
    told.lines().find_map(|line| line.strip_prefix("Pages:")?.trim().parse().ok())
}

/// An example, and the same with a few lines changed, or judged by another revision of the limits.
fn pages_of(kind: &str, language: &str, file: &str) -> Option<(usize, usize)> {
    let (mut records, firm) = example(file, language);
    let record = &mut records[0];
    let original = pages(document::certificate(record, &firm))?;
    let number = record.certificate.number.clone().unwrap();
    let earlier = BeforeFacts { limits_revision: Some("3".into()), as_found: Some(Verdict::Fail), ..before(record) };
    record.certificate = CertificateFacts {
        reason: Some("The serial of the probe was misread".to_owned()),
        authorised: Some(AuthorisedFacts { name: "M. Orrisby".into(), signed: "2026-11-02 08:40 +01:00".into() }),
        before: vec![earlier],
        changes: vec![change("v.yaml", "loops › AT-1 › probe › serial", Some("G12-1"), Some("G12-7"))],
        ..following(kind, &number, "F1", &record.certificate)
    };
    Some((original, pages(document::certificate(record, &firm))?))
}

#[test]
fn a_common_loop_still_takes_two_pages_and_no_loop_more_than_one_further() {
    const COMMON: [&str; 3] =
        ["2024-10-08-new-probe.yaml", "2026-03-10-lone-file.yaml", "2026-05-19-mis-stated-difference.yaml"];
    const MORE: [&str; 3] =
        ["2026-08-25-good-left-alone.yaml", "2026-09-22-adjusted-only.yaml", "2026-09-29-left-out-of-service.yaml"];
    for (_, language) in LANGUAGES {
        for kind in ["amendment", "re-evaluation"] {
            for file in COMMON.iter().chain(&MORE) {
                let Some((original, pages)) = pages_of(kind, language, file) else { return };
                let most = if COMMON.contains(file) { 2 } else { original + 1 };
                assert!(pages <= most, "{kind}, {language}, {file}: {original} pages, then {pages}");
            }
        }
    }
}

#[test]
fn a_place_without_words_stays_as_written_and_a_long_list_flows() {
    let (records, firm) = amended_again("en");
    let document = document::certificate(&records[0], &firm);
    let said = dense(&english(&document));
    for wanted in [
        "Replaces HM-2026-046-AT-118-A1 First original HM-2026-046-AT-118",
        "Limits, verdicts, slope and offset are the same as before.",
        "Changed fields: 63. They are listed in the second part.",
        "something › never › heard of 1 not there",
        "x-workorder 00417 00471",
        "As found, reading 60, temperature (°C) −0.5 °C 15.1",
    ] {
        assert!(said.contains(&dense(wanted)), "«{wanted}» is not said");
    }
}

#[test]
fn a_re_evaluation_shows_both_limits_and_verdicts_and_keeps_the_dates_apart() {
    let (records, firm) = re_evaluated("en");
    let record = &records[0];
    let document = document::certificate(record, &firm);
    let number = record.certificate.replaces.clone().unwrap();
    assert_eq!(document.title, "Re-evaluation by other limits: same measurements");
    assert!(document.subtitle.ends_with(&format!("record {number} judged anew")), "{}", document.subtitle);
    assert_eq!(document.running.draft, None);
    let said = dense(&english(&document));
    for wanted in [
        "Work done 2026-09-15",
        "Original issued 2026-10-07 09:00 +01:00",
        "Evaluated 2026-11-02 09:00 +01:00",
        "Limits “hurdlemere-standard”, revision 4",
        "guard band of 0.5 U simple acceptance",
        "As found pass fail",
        "and unchanged; only the limits by which they are judged are others.",
        "70 to 105 (warning: ≥ 80)",
        "authorised · 2026-11-02 08:40 +01:00",
        "performed the work · 2026-09-15",
    ] {
        assert!(said.contains(&dense(wanted)), "«{wanted}» is not said");
    }
    assert!(!said.contains("receivedfortheclient"), "nobody received it");
}

#[test]
fn a_re_evaluation_that_nobody_authorised_is_a_draft() {
    let (mut records, firm) = re_evaluated("en");
    let record = &mut records[0];
    assert!(record.visit.signatures.iter().any(|it| it.role == "authorised"), "the visit was authorised");
    assert!(!is_draft(&firm, &record.visit, &record.certificate));
    record.certificate.authorised = None;
    assert!(is_draft(&firm, &record.visit, &record.certificate));
    let document = document::certificate(record, &firm);
    assert_eq!(document.running.draft.as_deref(), Some("Draft: signature awaited (authorised)"));
    assert!(english(&document).contains("once it is signed; until then that one is in force"));
    record.certificate.kind = "amendment".to_owned();
    assert!(!is_draft(&firm, &record.visit, &record.certificate), "the corrected visit file was authorised");
    let firm = Firm { signatures: vec![halfcell::firm::Role::Performed], ..firm };
    record.certificate.kind = "re-evaluation".to_owned();
    assert!(!is_draft(&firm, &record.visit, &record.certificate), "the firm requires no authorisation");
}

#[test]
fn a_summary_tells_the_loops_that_are_judged_otherwise() {
    let (document, records) = summary("re-evaluation", "en");
    assert_eq!(document.title, "Visit summary, re-evaluated by other limits: same measurements");
    let said = dense(&english(&document));
    let verdict = |record: &Record| if record.as_found.verdict == Some(Verdict::Pass) { "pass" } else { "fail" };
    let first = &records[0];
    assert!(said.contains(&dense(&format!("{} conditional fail {}", first.tag, verdict(first)))), "{said}");
    assert!(said.contains(&dense(&format!("As before: {}; ", records[2].tag))), "{said}");
    let (document, _) = summary("amendment", "en");
    assert_eq!(document.title, "Amendment to visit summary HM-2026-077");
    let said = dense(&english(&document));
    assert!(said.contains(&dense("Loop AT-101, outcome condemned returned to service")), "{said}");
}
