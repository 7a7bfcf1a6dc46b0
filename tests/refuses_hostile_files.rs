//! No file makes reading panic, hang or fill the memory: limits act within a second, and every refusal has a place.

use halfcell::problem::Problem;
use halfcell::quantity::{Celsius, Millivolt, Plain};
use halfcell::yaml::{At, read};
use std::alloc::{GlobalAlloc, Layout, System};
use std::cell::Cell;
use std::sync::OnceLock;
use std::time::{Duration, Instant};

/// Counts what each thread allocates, to see the peak of one reading.
struct Counting;

thread_local! {
    static NOW: Cell<usize> = const { Cell::new(0) };
    static PEAK: Cell<usize> = const { Cell::new(0) };
}

fn count(now: usize) {
    NOW.set(now);
    PEAK.set(PEAK.get().max(now));
}

// SAFETY: every call is handed on to the system's allocator unchanged; the counters allocate nothing themselves.
unsafe impl GlobalAlloc for Counting {
    unsafe fn alloc(&self, layout: Layout) -> *mut u8 {
        count(NOW.get().wrapping_add(layout.size()));
        unsafe { System.alloc(layout) }
    }

    unsafe fn dealloc(&self, pointer: *mut u8, layout: Layout) {
        NOW.set(NOW.get().wrapping_sub(layout.size()));
        unsafe { System.dealloc(pointer, layout) }
    }
}

#[global_allocator]
static COUNTING: Counting = Counting;

/// The bound of the promise is a second; an unoptimised build on a busy machine gets more.
const BOUND: Duration = Duration::from_secs(if cfg!(debug_assertions) { 10 } else { 1 });
const MEMORY: usize = 100_000_000;
/// Time that this thread has spent on a processor, so that what else the machine does is not counted; wall time where the
/// system does not tell.
fn clock() -> Duration {
    static START: OnceLock<Instant> = OnceLock::new();
    let told = std::fs::read_to_string("/proc/thread-self/schedstat").ok();
    let nanoseconds = told.and_then(|told| told.split_whitespace().next()?.parse().ok());
    nanoseconds.map_or_else(|| START.get_or_init(Instant::now).elapsed(), Duration::from_nanos)
}

/// Reads and asks everything of every value; gives the problems.
fn read_all(bytes: &[u8]) -> Vec<Problem> {
    match read("hostile.yaml", bytes) {
        Err(problems) => problems,
        Ok(tree) => {
            ask(&tree.root());
            let problems = tree.problems();
            for problem in problems.iter().take(20) {
                assert!(!problem.long().is_empty() && !problem.one_line().contains('\n'));
            }
            problems
        }
    }
}

fn ask(at: &At<'_>) {
    if at.is_list() {
        for child in at.list("values").expect("a list") {
            ask(&child);
        }
        let _ = at.pair::<Plain>("two ends");
    } else if at.is_mapping() {
        let mut keys = at.keys("keys").expect("a mapping");
        let _ = keys.get("mv").map(|mv| mv.number::<Millivolt>());
        let _ = keys.need("temperature", "it is due").map(|at| at.number::<Celsius>());
        keys.clone().finish();
        for (_, child) in keys.entries() {
            ask(&child);
        }
    } else {
        let _ = (at.text(), at.name(), at.number::<Celsius>(), at.yes_no(), at.date(), at.expiry());
        let _ = (
            at.moment().map(|moment| at.moment_within(&moment, None)),
            at.word("a word", &[("acid soak", 1), ("wiped", 2)]),
        );
    }
}

#[track_caller]
fn assert_refused(name: &str, bytes: &[u8], code: &str) {
    let before = NOW.get();
    PEAK.set(before);
    let start = clock();
    let problems = read_all(bytes);
    let took = clock() - start;
    let peak = PEAK.get().saturating_sub(before);
    println!(
        "{name}: {took:?}, {} kB, {:?}",
        peak / 1000,
        problems.first().map(|problem| (problem.code, problem.place.line, problem.place.column))
    );
    assert!(took < BOUND, "{name} took {took:?}");
    assert!(peak < MEMORY, "{name} took {peak} bytes");
    assert!(
        problems.iter().any(|problem| problem.code == code),
        "{name}: {}",
        problems.first().map_or("no problem".to_owned(), Problem::long)
    );
}

#[test]
fn alias_bombs_are_refused() {
    let mut bomb = String::from("a0: &a0 [x, x, x, x, x, x, x, x, x, x]\n");
    for level in 1..12 {
        let below = format!("*a{}", level - 1);
        bomb.push_str(&format!("a{level}: &a{level} [{}]\n", vec![below; 10].join(", ")));
    }
    assert_refused("alias bomb", bomb.as_bytes(), "too-many-values");
    let long = format!("a: &a {}\nb: [{}]\n", "x".repeat(19_000), vec!["*a"; 90_000].join(", "));
    assert_refused("long text repeated", long.as_bytes(), "too-many-values");
    let chain: String = (1..100).map(|level| format!("a{level}: &a{level} [*a{}]\n", level - 1)).collect();
    assert_refused("chain of aliases", format!("a0: &a0 x\n{chain}").as_bytes(), "too-deep");
}

#[test]
fn deep_nesting_is_refused() {
    assert_refused("20 000 [", "[".repeat(20_000).as_bytes(), "too-deep");
    assert_refused("20 000 [ below a key", format!("a: {}", "[".repeat(20_000)).as_bytes(), "too-deep");
    assert_refused("500 000 [", "[".repeat(500_000).as_bytes(), "too-deep");
    assert_refused("20 000 {a: ", "{a: ".repeat(20_000).as_bytes(), "too-deep");
    assert_refused("20 000 - ", "- ".repeat(20_000).as_bytes(), "too-deep");
    assert_refused("20 000 ? ", "? ".repeat(20_000).as_bytes(), "key-shape");
    // As deep as a file of the permitted size can be, and 20 000 levels deep in a larger one.
    let block = |levels: usize| (0..levels).map(|level| format!("{}a:\n", " ".repeat(level))).collect::<String>();
    assert_refused("1400 block levels", block(1400).as_bytes(), "too-deep");
    assert_refused("20 000 block levels", block(20_000).as_bytes(), "file-too-large");
}

#[test]
fn large_files_are_refused() {
    assert_refused("100 MB", &vec![b'#'; 100_000_000], "file-too-large");
    assert_refused("one line of 50 MB", format!("a: {}", "x".repeat(50_000_000)).as_bytes(), "file-too-large");
    assert_refused("one line of 1 MB", format!("a: {}", "x".repeat(999_000)).as_bytes(), "text-too-long");
    assert_refused("quoted line of 1 MB", format!("a: \"{}\"", "\u{b0}".repeat(499_000)).as_bytes(), "text-too-long");
}

/// Files of nearly a megabyte that could make a parser walk over the same text again and again.
#[test]
fn files_of_full_size_take_no_more_than_a_second() {
    const FULL: usize = 990_000;
    let fill = |head: &str, piece: &str, tail: &str| {
        let count = (FULL - head.len() - tail.len()) / piece.len();
        format!("{head}{}{tail}", piece.repeat(count))
    };
    let keys: String = (0..50_000).map(|index| format!("k{index}: {index}\n")).collect();
    let similar: String = (0..45_000).map(|index| format!("temperature{index}: 1\n")).collect();
    let files = [
        ("values in a list", fill("a: [", "x,", "]"), "too-many-values"),
        ("bare words in braces", fill("\u{b0}: {", "x,", "}"), "too-many-values"),
        ("keys in braces", fill("a: {", "x: y, ", "}"), "too-many-values"),
        ("commas in braces", fill("a: {", ",", "}"), "yaml-syntax"),
        ("commas in a list", fill("a: [", ",", "]"), "yaml-syntax"),
        ("empty entries", fill("a:\n", "-\n", ""), "too-many-values"),
        ("same keys", fill("", "a: b\n", ""), "too-many-values"),
        ("many keys", keys, "too-many-problems"),
        ("similar keys", similar, "too-many-problems"),
        ("blank lines", fill("", "\n", "a: \t@"), "yaml-special-start"),
        ("blank lines in a text", fill("a: b", "\n", "@: c: d"), "yaml-colon-in-text"),
        ("comments", fill("", "# x\n", "a: @"), "yaml-special-start"),
        ("anchors", fill("a: [", "&a b,", "]"), "too-many-values"),
        (
            "different anchors",
            format!("a: [{}]", (0..80_000).map(|index| format!("&a{index} b,")).collect::<String>()),
            "too-many-problems",
        ),
        ("tags", fill("a: [", "!!a b,", "]"), "too-many-values"),
        ("tags alone", fill("a: ", "!", ""), "yaml-special-start"),
        ("directives", fill("", "%A b\n", ""), "yaml-syntax"),
        ("tag directives", (0..50_000).map(|index| format!("%TAG !{index}! a\n")).collect(), "yaml-syntax"),
        ("documents", fill("a: b\n", "---\n", ""), "several-documents"),
        ("document ends", fill("a: b\n", "...\n", ""), "missing-key"),
        ("quotes", fill("a: '", "''", ""), "yaml-unclosed-quote"),
        ("escapes", fill("a: \"", "\\n", ""), "yaml-unclosed-quote"),
        ("open quotes", fill("a: [", "\"a\" ", "]"), "yaml-syntax"),
        ("tab lines", fill("a: b\n", "\tx\n", ""), "yaml-tab"),
        ("colons", fill("a", ":", " b"), "text-too-long"),
        ("colon and space", fill("a", ": a", ""), "yaml-colon-in-text"),
        ("question marks", fill("", "? a\n", ""), "too-many-values"),
        ("carriage returns", fill("", "\r", "a: @"), "yaml-special-start"),
        ("spaces", fill("a: b", " ", "\n  c: d"), "yaml-indentation"),
        ("wide characters", fill("a: [", "\u{4f50},", "]"), "too-many-values"),
        ("numbers", fill("a: [", "8,3 mV, ", "]"), "too-many-values"),
        ("block text", fill("a: |\n", "  x\n", ""), "text-too-long"),
        ("block entries in braces", fill("", "{a: b}\n", ""), "yaml-indentation"),
        ("closing brackets", fill("a: ", "]", ""), "yaml-special-start"),
        ("backslashes", fill("a: ", "\\", ""), "text-too-long"),
        ("merge keys", fill("a: &a {b: c}\nd:\n", "  <<: *a\n", ""), "too-many-values"),
    ];
    for (name, text, code) in files {
        assert_refused(name, text.as_bytes(), code);
    }
}

/// A realistic visit of two loops.
const VISIT: &str = include_str!("visits/two-loops.yaml");

/// A plain generator of numbers, so that a failure can be run again.
struct Dice(u64);

impl Dice {
    fn roll(&mut self, below: usize) -> usize {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 33) as usize % below
    }
}

const PIECES: &[&str] = &[
    "\t",
    "\n",
    "\r",
    "  ",
    "- ",
    ": ",
    ":",
    ",",
    "{",
    "}",
    "[",
    "]",
    "\"",
    "'",
    "#",
    " #",
    "&a ",
    "*a",
    "!!str ",
    "|",
    ">",
    "%",
    "@",
    "`",
    "~",
    "---\n",
    "...\n",
    "<<: ",
    "? ",
    "\u{feff}",
    "\u{85}",
    "\u{2028}",
    "\u{202e}",
    "\u{200b}",
    "\u{a0}",
    "\u{2212}",
    "\u{fffd}",
    "\\",
    "\\x",
    "0x1F",
    ",3",
    "1e999",
    ".nan",
    "12:34",
    "2026-02-30",
    "T24:30",
    "°",
    "\0",
];

fn mutate(dice: &mut Dice) -> Vec<u8> {
    let mut bytes = VISIT.as_bytes().to_vec();
    for _ in 0..=dice.roll(4) {
        let at = dice.roll(bytes.len().max(1)).min(bytes.len().saturating_sub(1));
        match dice.roll(6) {
            0 => bytes[at] = u8::try_from(dice.roll(256)).unwrap_or(0),
            1 => {
                let piece = PIECES[dice.roll(PIECES.len())];
                bytes.splice(at..at, piece.bytes());
            }
            2 => {
                let end = (at + dice.roll(40)).min(bytes.len());
                bytes.drain(at..end);
            }
            3 => {
                let end = (at + dice.roll(200)).min(bytes.len());
                let copy = bytes[at..end].to_vec();
                let to = dice.roll(bytes.len());
                bytes.splice(to..to, copy);
            }
            4 => bytes.truncate(at.max(1)),
            _ => {
                let piece = PIECES[dice.roll(PIECES.len())];
                let end = (at + 1).min(bytes.len());
                bytes.splice(at..end, piece.bytes());
            }
        }
    }
    bytes
}

/// `count` pieces, one a line or all in one line.
fn pieces(count: usize, between: &str, piece: impl Fn(usize) -> String) -> String {
    (0..count).map(piece).collect::<Vec<_>>().join(between)
}

const HEAD: &str =
    "visit: {number: x, started: 2026-04-17T08:40Z, technicians: [A. B], client: client.yaml, kit: kit.yaml}";
const LOOP: &str = "loops:\n - tag: a\n   quantity: pH\n   probe: k\n   adjusted: no\n   outcome: condemned\n";

/// Reviews a visit with the files it names; it must be refused with this code, in time and memory.
#[track_caller]
fn assert_reviewed(name: &str, visit: &str, client: &str, kit: &str, code: &str) {
    let folder = tempfile::tempdir().expect("a folder");
    for (file, text) in [("visit.yaml", visit), ("client.yaml", client), ("kit.yaml", kit)] {
        assert!(text.len() < 1_000_000, "{name}: {file} is read at all");
        std::fs::write(folder.path().join(file), text).expect("a file");
    }
    let before = NOW.get();
    PEAK.set(before);
    let start = clock();
    let opened = halfcell::visit::open(&folder.path().join("visit.yaml"), &halfcell::visit::Given::default());
    let reviewed = halfcell::requirements::review(opened);
    let (took, peak) = (clock() - start, PEAK.get().saturating_sub(before));
    println!("{name}: {took:?}, {} kB, {} problems", peak / 1000, reviewed.problems.len());
    assert!(reviewed.records.is_empty() && took < BOUND, "{name} took {took:?}");
    assert!(peak < 150_000_000, "{name} took {peak} bytes");
    assert!(reviewed.problems.len() <= 3 * 501, "{name}: the list has an end");
    assert!(reviewed.problems.iter().any(|it| it.code == code), "{name}: {:?}", reviewed.problems.first());
    assert!(reviewed.problems.iter().all(|it| it.long().len() < 3000), "{name}: every message has an end");
}

/// Files that are valid YAML and name each other's many entries, each of which is looked up.
#[test]
fn twenty_thousand_of_anything_take_no_longer() {
    let loops = |piece: fn(usize) -> String| format!("loops:\n{}\n", pieces(20_000, "\n", piece));
    let bare = format!("loops: [{}]\n", pieces(20_000, ",", |i| format!("{{tag: A{i}}}")));
    let client = |loops: &str| format!("client: {{name: C}}\n{loops}");
    let visit = |loops: &str| format!("{HEAD}\n{loops}");
    let listed = loops(|i| format!(" - {{tag: A{i}, quantity: pH, probe: K{i}}}"));
    let probed = loops(|i| format!(" - {{tag: A{i}, probe: K{i}}}"));
    let others = loops(|i| format!(" - {{tag: B{i}, probe: Q{i}}}"));
    let doubled = loops(|i| format!(" - {{tag: A{}, probe: K{}}}", i % 10_000, i % 9000));
    let sites = format!(
        "sites: {{{}}}\nloops:\n{}\n",
        pieces(20_000, ",", |i| format!("s{i}: {{name: n}}")),
        pieces(12_000, "\n", |i| format!(" - {{tag: A{i}, site: q{i}}}"))
    );
    let kit = format!("standards:\n{}\n", pieces(20_000, "\n", |i| format!(" S{i}: {{buffer: borax}}")));
    let read_in = |name: fn(usize) -> String| {
        let readings = pieces(19_000, "\n", |i| format!("     - {{in: {}, mv: 1, temperature: 25}}", name(i)));
        format!("{HEAD}\n{LOOP}   as_found:\n    readings:\n{readings}\n")
    };
    let accepted = pieces(20_000, "\n", |i| format!("     - {{code: c{i}, reason: r}}"));
    let accepted = format!("{HEAD}\n{LOOP}   as_found: {{not_obtained: x}}\n   accepted:\n{accepted}\n");
    let remedies = pieces(20_000, "\n", |i| format!("     - {{remedy: wiped, at: \"{:02}:30\"}}", 9 + i % 10));
    let remedies = format!("{HEAD}\n{LOOP}   as_found: {{not_obtained: x}}\n   remedies:\n{remedies}\n");
    let (no_kit, no_roster) = ("standards: {B7: {buffer: phosphate}}\n", "client: {name: C}\n");
    assert_reviewed("in one line", &visit(&bare), &client(&bare), no_kit, "missing-key");
    assert_reviewed("in the roster", &visit(&probed), &client(&listed), no_kit, "missing-key");
    assert_reviewed("not in the roster", &visit(&others), &client(&listed), no_kit, "tag-not-in-roster");
    assert_reviewed("twice in the roster", &visit(&probed), &client(&doubled), no_kit, "duplicate-tag");
    assert_reviewed("of sites that are not declared", &visit(&bare), &client(&sites), no_kit, "unknown-site");
    assert_reviewed("standards", &read_in(|i| format!("S{i}")), no_roster, &kit, "buffers-too-close");
    assert_reviewed("unknown standards", &read_in(|i| format!("Q{i}z")), no_roster, &kit, "unknown-standard");
    assert_reviewed("accepted codes", &accepted, no_roster, no_kit, "nothing-to-accept");
    assert_reviewed("remedies", &remedies, no_roster, no_kit, "time-order");
}

#[test]
fn no_bytes_make_reading_panic() {
    let mut dice = Dice(20_260_417);
    let mut refused = 0;
    let mut slowest = Duration::ZERO;
    for round in 0..4000 {
        let bytes = mutate(&mut dice);
        let start = clock();
        let result = std::panic::catch_unwind(|| read_all(&bytes));
        slowest = slowest.max(clock() - start);
        let problems = result.unwrap_or_else(|_| panic!("round {round} panics:\n{}", String::from_utf8_lossy(&bytes)));
        let lines =
            u32::try_from(bytes.iter().filter(|byte| matches!(byte, b'\n' | b'\r')).count() + 2).expect("few lines");
        for problem in &problems {
            assert!(problem.place.line <= lines, "round {round}: {problem:?}");
        }
        refused += usize::from(
            problems.iter().any(|problem| problem.code.starts_with("yaml-") || problem.code == "text-encoding"),
        );
    }
    println!("{refused} of 4000 were broken, the slowest took {slowest:?}");
    // The generator reaches the parsers' errors as well as files that still read.
    assert!((400..3900).contains(&refused), "{refused}");
    assert!(slowest < BOUND, "{slowest:?}");
}
