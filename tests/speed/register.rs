//! Time, memory and disk of a register as it grows: `cargo bench --bench register [-- VISITS…]`.
fn main() {
    let arguments: Vec<String> = std::env::args().collect();
    let folder = std::path::PathBuf::from(&arguments[1]);
    std::fs::create_dir_all(&folder).unwrap();
    visits::write(&folder, arguments[2].parse().unwrap(), 5);
}
#[path = "visits.rs"]
mod visits;
