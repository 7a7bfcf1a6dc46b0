//! The invented office behind the generated visits: its firm, clients, limits over the years, and what each van carries.

use super::plant::Kind;
use chrono::{Datelike, NaiveDate};
use std::fmt::Write;
use std::path::Path;

/// Whose limits hold for a client.
#[derive(Clone, Copy, PartialEq, Eq)]
pub enum Limits {
    /// The firm's, revised every year.
    Firm,
    /// The dairies' own, revised once.
    Product,
    /// A discharge permit: guarded.
    Permit,
    /// A medicines maker.
    Gmp,
}

/// A client: name, language, whose limits, sites with their zones, first letters of its tags.
pub struct Client {
    pub key: &'static str,
    pub name: &'static str,
    pub language: &'static str,
    pub limits: Limits,
    pub sites: &'static [(&'static str, &'static str)],
    pub zone: &'static str,
    pub prefix: &'static str,
}

const fn client(
    [key, name, language, zone, prefix]: [&'static str; 5],
    limits: Limits,
    sites: &'static [(&'static str, &'static str)],
) -> Client {
    Client { key, name, language, limits, sites, zone, prefix }
}

const LONDON: &str = "Europe/London";

pub const CLIENTS: [Client; 9] = [
    client(
        ["quillsand", "Quillsand Water", "English", LONDON, "AT"],
        Limits::Firm,
        &[("works", "Quillsand treatment works"), ("intake", "Upper Quill intake")],
    ),
    client(
        ["thistlemarsh", "Thistlemarsh Effluent Board", "English", LONDON, "QE"],
        Limits::Permit,
        &[("outfall", "Thistlemarsh outfall"), ("lagoon", "Reedholme lagoon")],
    ),
    client(["wheyford", "Wheyford Creamery", "English", LONDON, "QT"], Limits::Product, &[("creamery", "Wheyford")]),
    client(["odrimar", "Odrimar Actives", "English", LONDON, "PH"], Limits::Gmp, &[("block-2", "Block 2")]),
    client(
        ["ellertrum", "Wasserverband Ellertrum", "German", "Europe/Berlin", "QIR"],
        Limits::Firm,
        &[("werk", "Wasserwerk Ellertrum"), ("brunnen", "Brunnenfeld Süd")],
    ),
    client(
        ["brunkelau", "Molkerei Brunkelau", "German", "Europe/Berlin", "QM"],
        Limits::Product,
        &[("molkerei", "Molkerei Brunkelau")],
    ),
    client(
        ["brimelac", "Régie des eaux de Brimelac", "French", "Europe/Paris", "AE"],
        Limits::Permit,
        &[("usine", "Usine de Brimelac"), ("rejet", "Rejet de la Vaucrette")],
    ),
    client(
        ["vaucrevelle", "Fromagerie de Vaucrevelle", "French", "Europe/Paris", "AF"],
        Limits::Firm,
        &[("atelier", "Atelier de Vaucrevelle")],
    ),
    client(
        ["torrequiva", "Aguas de Torrequiva", "Spanish", "Europe/Madrid", "AQ"],
        Limits::Firm,
        &[("planta", "Planta de Torrequiva"), ("presa", "Presa de Alquerín")],
    ),
];

const SURNAMES: [&str; 16] = [
    "Tamberlow",
    "Pindlewood",
    "Ostwhile",
    "Wrackenby",
    "Ambersop",
    "Quillfeather",
    "Mottleby",
    "Saltwhistle",
    "Dunnockley",
    "Fernipole",
    "Harkenshaw",
    "Jessamere",
    "Kettlewend",
    "Larkenby",
    "Nettlecroft",
    "Ruddlewick",
];

/// The technician of a van.
pub fn technician(van: usize) -> String {
    let initial = char::from(b'A' + ((van * 7 + 13) % 26) as u8);
    format!("{initial}. {}", SURNAMES[van % SURNAMES.len()])
}

/// The file of limits that holds for a client on a day.
pub fn limits(client: &Client, day: NaiveDate) -> String {
    match client.limits {
        Limits::Firm => format!("firm-{}", day.year()),
        Limits::Product => format!("product-{}", if day.year() < 2024 { 2022 } else { 2024 }),
        Limits::Permit => format!("permit-{}", if day < july(2024) { 2021 } else { 2024 }),
        Limits::Gmp => "gmp-2022".to_owned(),
    }
}

fn july(year: i32) -> NaiveDate {
    NaiveDate::from_ymd_opt(year, 7, 1).unwrap()
}

/// The kit file of a van in the quarter of a day.
pub fn kit(van: usize, day: NaiveDate) -> String {
    format!("van-{:02}-{}-q{}", van + 1, day.year(), day.quarter())
}

/// The last day of the technical buffer of a van in the quarter of a day: one van lets it run out every summer.
pub fn technical_buffer_expires(van: usize, day: NaiveDate) -> NaiveDate {
    let (year, month) = if van % 6 == 1 && day.quarter() == 3 { (day.year(), 8) } else { (day.year() + 1, 9) };
    NaiveDate::from_ymd_opt(year, month, 28).unwrap()
}

/// Writes the firm, every revision of limits, and the kit of every van in every quarter.
pub fn write(folder: &Path, vans: usize, years: std::ops::RangeInclusive<i32>) {
    let put = |name: String, text: String| std::fs::write(folder.join(name), text).unwrap();
    for below in ["clients", "limits", "kits"] {
        std::fs::create_dir_all(folder.join(below)).unwrap();
    }
    put("firm.yaml".into(), firm(vans));
    for year in years.clone() {
        put(format!("limits/firm-{year}.yaml"), firm_limits(year));
        for (van, quarter) in (0..vans).flat_map(|van| (0..4).map(move |quarter| (van, quarter))) {
            let day = NaiveDate::from_ymd_opt(year, 1 + 3 * quarter, 1).unwrap();
            put(format!("kits/{}.yaml", kit(van, day)), standards(van, day));
        }
    }
    for (name, text) in OTHER_LIMITS {
        put(format!("limits/{name}.yaml"), text.to_owned());
    }
}

fn firm(vans: usize) -> String {
    let people: String =
        (0..vans).map(|van| format!("  {}: {{qualification: service technician}}\n", technician(van))).collect();
    format!(
        "# Found by itself from the folders of visits.\nfirm:\n  name: Hurdlemere Loop Service\n  address: 4 Wattle Yard / \
         Hurdlemere\n  contact: service@hurdlemere.example.com\naccent: \"#34408B\"\npaper: A4\nlanguage: \
         English\nnumbering: \"{{visit}}-{{loop}}\"\nlimits: limits/firm-2025.yaml\nprocedure: {{name: HP-07 Service of pH \
         and redox loops, revision: \"1.10\"}}\npeople:\n{people}  M. Orrisby: {{qualification: office \
         manager}}\nsignatures: [performed, authorised]\ninterval: 90 days\n"
    )
}

/// Each year the firm promises a little more.
fn firm_limits(year: i32) -> String {
    let (revision, left) = (year - 2020, ["0.10", "0.08", "0.05"][(year - 2023).clamp(0, 2) as usize]);
    format!(
        "limits: {{name: hurdlemere-standard, revision: {revision}, effective: {year}-01-01, approved_by: M. Orrisby, basis: \
         common practice; agreed with the order}}\nrequirements: plain\ndecision: simple\npH:\n  slope: {{warn_below: 85 %, \
         fail_below: 80 %, fail_above: 105 %}}\n  offset: {{warn_beyond: 30 mV, fail_beyond: 50 mV}}\n  as_found_error: \
         {{fail_beyond: 0.20 pH}}\n  as_left_error: {{fail_beyond: {left} pH}}\n  check_standard: {{fail_beyond: 0.10 \
         pH}}\n  temperature: {{fail_beyond: 1.0 °C}}\n  output: {{fail_beyond: 0.5 %}}\n{REDOX}"
    )
}

const REDOX: &str = "redox:
  as_found_error: {fail_beyond: 20 mV}
  as_left_error: {fail_beyond: 10 mV}
  gain: {fail_below: 90 %, fail_above: 110 %}
";

const OTHER_LIMITS: [(&str, &str); 5] = [
    (
        "product-2022",
        "limits: {name: dairy-product, revision: 1, effective: 2022-05-01, approved_by: quality office}
requirements: plain
pH:
  slope: {warn_below: 88 %, fail_below: 82 %, fail_above: 105 %}
  as_found_error: {fail_beyond: 0.15 pH}
  as_left_error: {fail_beyond: 0.08 pH}
redox: {as_found_error: {fail_beyond: 20 mV}, as_left_error: {fail_beyond: 10 mV}}
",
    ),
    (
        "product-2024",
        "limits: {name: dairy-product, revision: 2, effective: 2024-01-01, approved_by: quality office}
requirements: plain
pH:
  slope: {warn_below: 90 %, fail_below: 85 %, fail_above: 105 %}
  as_found_error: {fail_beyond: 0.10 pH}
  as_left_error: {fail_beyond: 0.06 pH}
  junction_age: {warn_beyond: 12 months}
redox: {as_found_error: {fail_beyond: 15 mV}, as_left_error: {fail_beyond: 10 mV}}
",
    ),
    (
        "permit-2021",
        "limits: {name: discharge-permit, revision: 4, effective: 2021-04-01, approved_by: M. Orrisby, basis: permit condition 12}
requirements: permit
decision: guarded
pH:
  slope: {fail_below: 78 %, fail_above: 105 %}
  as_found_error: {fail_beyond: 0.20 pH}
  as_left_error: {fail_beyond: 0.10 pH}
redox: {as_found_error: {fail_beyond: 30 mV}, as_left_error: {fail_beyond: 20 mV}}
",
    ),
    (
        "permit-2024",
        "limits: {name: discharge-permit, revision: 5, effective: 2024-07-01, approved_by: M. Orrisby, basis: permit condition 12}
requirements: permit
decision: guarded
pH:
  slope: {fail_below: 80 %, fail_above: 105 %}
  offset: {fail_beyond: 45 mV}
  as_found_error: {fail_beyond: 0.20 pH}
  as_left_error: {fail_beyond: 0.10 pH}
redox: {as_found_error: {fail_beyond: 30 mV}, as_left_error: {fail_beyond: 20 mV}}
",
    ),
    (
        "gmp-2022",
        "limits: {name: actives, revision: 2, effective: 2022-02-01, approved_by: quality assurance, basis: QP-114}
requirements: gmp
pH:
  slope: {warn_below: 90 %, fail_below: 85 %, fail_above: 105 %}
  offset: {warn_beyond: 25 mV, fail_beyond: 40 mV}
  as_found_error: {fail_beyond: 0.10 pH}
  as_left_error: {fail_beyond: 0.05 pH}
  settling: {warn_beyond: 180 s}
redox: {as_found_error: {fail_beyond: 20 mV}, as_left_error: {fail_beyond: 10 mV}}
",
    ),
];

/// What a van carries for a quarter.
fn standards(van: usize, day: NaiveDate) -> String {
    let (year, quarter) = (day.year(), day.quarter());
    let opened = day.pred_opt().unwrap();
    let lot = |kind: &str| format!("{kind}-{}{quarter}{van:02}", year % 100);
    let mut text = format!("# Van {}, {year}, quarter {quarter}.\nstandards:\n", van + 1);
    for (key, buffer, kind) in
        [("B4", "phthalate", "LK4"), ("B7", "phosphate", "LK7"), ("B9", "borax", "LK9"), ("B10", "carbonate", "LK10")]
    {
        writeln!(
            text,
            "  {key}: {{buffer: {buffer}, maker: Lumbrick Standards, lot: {}, expires: {}-06, opened: {opened}, certificate: \
             {}, expanded_uncertainty: 0.010, coverage_factor: 2}}",
            lot(kind),
            year + 1,
            lot("LB")
        )
        .unwrap();
    }
    let (expires, last) = (technical_buffer_expires(van, day), year + 1);
    write!(
        text,
        "  X7: {{buffer: {{name: technical buffer 7.00, table: [[0, 7.12], [5, 7.09], [10, 7.06], [15, 7.04], [20, 7.02], [25, \
         7.00], [30, 6.99], [35, 6.98]]}}, maker: Lumbrick Standards, lot: {}, expires: {expires}, opened: {opened}}}\n  R1: \
         {{redox: zobell, maker: Lumbrick Standards, lot: {}, expires: {last}-03, opened: {opened}, expanded_uncertainty: 5 \
         mV, coverage_factor: 2}}\n  R2: {{redox: quinhydrone, in: B7, maker: Lumbrick Standards, lot: {}, expires: \
         {last}-12}}\n",
        lot("LT7"),
        lot("LZ"),
        lot("LQ")
    )
    .unwrap();
    let certificate = |nr: usize| format!("WX-{}-{nr:02}{van:02}", year % 100);
    write!(
        text,
        "instruments:\n  T1: {{measures: temperature, make: Wexmarl, model: TH-2, serial: \"{:05}\", certificate: {}, \
         calibrated: {before}-12-12, due: {year}-12-31, expanded_uncertainty: 0.2 °C, coverage_factor: 2}}\n  V1: {{measures: \
         potential, make: Wexmarl, model: SV-5, serial: 5-{:04}, certificate: {}, calibrated: {before}-12-12, due: \
         {year}-12-31, expanded_uncertainty: 0.2 mV, coverage_factor: 2}}\n  A1: {{measures: current, make: Wexmarl, model: \
         LC-1, serial: 1-{:04}, certificate: {}, calibrated: {before}-12-13, due: {year}-12-31, expanded_uncertainty: 0.010 mA, \
         coverage_factor: 2}}\n",
        880 + van,
        certificate(1),
        3100 + van,
        certificate(2),
        1440 + van,
        certificate(3),
        before = year - 1
    )
    .unwrap();
    text
}

/// The client file with its roster: tag, site and kind of each loop. Probes change; the technician reads their plates.
pub fn client_file(client: &Client, loops: &[(String, usize, Kind)]) -> String {
    let mut text = format!(
        "client:\n  name: {}\n  address: 1 {} / {}\n  contact: quality@{}.example.com\nlanguage: {}\nsites:\n",
        client.name, client.sites[0].1, client.name, client.key, client.language
    );
    for (key, name) in client.sites {
        writeln!(text, "  {key}: {{name: {name}, address: 1 {name}, time_zone: {}}}", client.zone).unwrap();
    }
    text += "loops:\n";
    for (position, (tag, site, kind)) in loops.iter().enumerate() {
        let ((low, high), [from, to]) = (kind.usual(), kind.range());
        write!(
            text,
            "  - tag: {tag}\n    site: {}\n    quantity: {}\n    location: {}\n    range: [{from}, {to}]\n    output: 4-20 \
             mA\n    analyser: {{make: Hobwarren, model: HW-20, serial: HW20-{}{position:03}}}\n    process: {{usual: [{low}, \
             {high}]}}\n",
            client.sites[*site].0,
            kind.quantity(),
            location(client.language, position),
            client.prefix,
        )
        .unwrap();
    }
    text
}

fn location(language: &str, position: usize) -> &'static str {
    let of: [&str; 6] = match language {
        "German" => ["Rohwasser", "nach Flockung", "Filterablauf", "Reinwasser", "Neutralisation", "Ausgleichsbecken"],
        "French" => {
            ["eau brute", "après floculation", "sortie des filtres", "eau traitée", "neutralisation", "bassin tampon"]
        }
        "Spanish" => ["agua bruta", "tras floculación", "salida de filtros", "agua tratada", "neutralización", "balsa"],
        _ => ["raw water", "after coagulant", "filter outlet", "final water", "neutralisation", "balancing tank"],
    };
    of[position % of.len()]
}

/// A remark as a technician leaves one now and then.
pub fn remark(language: &str, position: usize) -> &'static str {
    let of: [&str; 3] = match language {
        "German" => ["Halter gespült, Dichtung getauscht.", "Messstelle schwer zugänglich.", "Kabel neu befestigt."],
        "French" => ["Support rincé, joint remplacé.", "Accès difficile au point de mesure.", "Câble refixé."],
        "Spanish" => {
            ["Portasondas enjuagado, junta cambiada.", "Acceso difícil al punto de medida.", "Cable fijado de nuevo."]
        }
        _ => ["Holder rinsed and seal changed.", "The measuring point is hard to reach.", "Cable fastened again."],
    };
    of[position % of.len()]
}
