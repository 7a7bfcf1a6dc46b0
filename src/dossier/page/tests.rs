//! The catalogue of the dossier and its sources name the same keys.

use std::collections::BTreeSet;
use std::path::Path;

#[test]
fn every_key_of_the_catalogue_is_used_and_every_key_used_is_there() {
    let catalogue: std::collections::BTreeMap<String, String> =
        serde_yaml::from_str(include_str!("../../../templates/wording/dossier-en.yaml")).unwrap();
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("src/dossier/page");
    let mut files: Vec<_> = std::fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path()).collect();
    files.retain(|path| !path.ends_with("tests.rs"));
    files.push(Path::new(env!("CARGO_MANIFEST_DIR")).join("src/dossier/page.rs"));
    let source: String = files.iter().map(|path| std::fs::read_to_string(path).unwrap()).collect();
    let literals: BTreeSet<&str> = source.split('"').collect();
    for key in catalogue.keys() {
        assert!(literals.contains(key.as_str()), "«{key}» is used nowhere");
    }
    for call in ["page.label(\"", "page.say(\"", "self.say(\""] {
        for key in source.split(call).skip(1).map(|rest| rest.split('"').next().unwrap()) {
            assert!(catalogue.contains_key(key), "«{key}» is not in the catalogue");
        }
    }
}
