//! How long reading takes: run with `cargo test --release --test reads_quickly -- --ignored --nocapture`.

use halfcell::quantity::Millivolt;
use halfcell::yaml::read;
use std::time::Instant;

/// A visit of ten loops, 1.5 kB a loop.
fn ten_loops() -> String {
    let visit = include_str!("visits/two-loops.yaml");
    let (head, rest) = visit.split_once("  - tag: AIT-2104").expect("the first loop");
    let (first, tail) = rest.split_once("  - tag: AIT-2105").expect("the second loop");
    let (_, end) = tail.split_once("signatures:").expect("the signatures");
    let loops: String =
        (0..10).map(|index| format!("  - tag: AIT-21{index:02}{}", first.replace("&left", ""))).collect();
    format!("{head}{loops}signatures:{end}")
}

#[test]
#[ignore = "a measurement, not a check"]
fn a_visit_of_ten_loops() {
    let text = ten_loops();
    assert!(read("visit.yaml", text.as_bytes()).expect("a tree").problems().is_empty());
    let rounds = 2000;
    let start = Instant::now();
    for _ in 0..rounds {
        let tree = read("visit.yaml", text.as_bytes()).expect("a tree");
        let mut numbers = 0;
        for at in tree.root().keys("a visit").and_then(|mut keys| keys.get("loops")?.list("loops")).expect("the loops")
        {
            let readings = at
                .keys("a loop")
                .and_then(|mut keys| keys.get("as_found")?.keys("as found")?.get("readings")?.list("readings"));
            for reading in readings.expect("the readings") {
                let mv = reading.keys("a reading").and_then(|mut keys| keys.get("mv")?.number::<Millivolt>());
                numbers += usize::from(mv.is_some());
            }
        }
        assert_eq!(numbers, 20);
    }
    println!("{} bytes: {:?} a reading", text.len(), start.elapsed() / rounds);
}
