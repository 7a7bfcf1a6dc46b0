//! Documents to tamper with, and tools that share no code with the reader.

#![allow(dead_code)]

use halfcell::verify::Audit;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

pub fn root() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

/// All PDFs of a folder.
pub fn pdfs(folder: &Path) -> Vec<PathBuf> {
    ending(folder, "pdf")
}

/// All files of a folder with an ending.
pub fn ending(folder: &Path, end: &str) -> Vec<PathBuf> {
    let files = fs::read_dir(folder).expect("documents").map(|file| file.expect("a file").path());
    let mut files: Vec<PathBuf> = files.filter(|path| path.extension().is_some_and(|own| own == end)).collect();
    files.sort();
    files
}

/// The examples, copied, with changes to the firm's file, and issued into `out`.
pub fn issued(changes: &[(&str, &str)]) -> tempfile::TempDir {
    let folder = tempfile::tempdir().expect("a folder");
    copied(folder.path(), changes);
    issue(folder.path(), &[]);
    folder
}

/// Copies the examples, with changes to the firm's file.
pub fn copied(to: &Path, changes: &[(&str, &str)]) {
    for folder in ["", "visits", "clients", "limits"] {
        fs::create_dir_all(to.join(folder)).expect("a folder");
        for file in fs::read_dir(root().join("examples").join(folder)).expect("examples") {
            let file = file.expect("a file").path();
            if file.is_file() {
                fs::copy(&file, to.join(folder).join(file.file_name().expect("a name"))).expect("a copy");
            }
        }
    }
    let mut firm = fs::read_to_string(to.join("firm.yaml")).expect("firm.yaml");
    for (old, new) in changes {
        assert!(firm.contains(old), "firm.yaml says {old}");
        firm = firm.replace(old, new);
    }
    fs::write(to.join("firm.yaml"), firm).expect("firm.yaml");
}

/// Issues every visit of a folder of examples.
pub fn issue(folder: &Path, more: &[&str]) {
    let mut issue = Command::new(env!("CARGO_BIN_EXE_halfcell"));
    issue.arg("issue").arg(folder.join("visits")).arg("--out").arg(folder.join("out")).args(more);
    let told = issue.output().expect("the program");
    assert!(told.status.success(), "{}", String::from_utf8_lossy(&told.stderr));
}

/// What is wrong with a document, in sentences.
pub fn told(audit: &Audit) -> Vec<String> {
    audit.faults.iter().map(halfcell::verify::Fault::told).collect()
}

/// A document changed in its objects, written by a library that is not this program's reader or writer.
pub fn changed(bytes: &[u8], change: impl FnOnce(&mut lopdf::Document)) -> Vec<u8> {
    let mut objects = lopdf::Document::load_mem(bytes).expect("a PDF");
    change(&mut objects);
    let mut out = Vec::new();
    objects.save_to(&mut out).expect("in memory");
    out
}

/// The names of attachments with the objects of their bytes.
pub fn attachments(objects: &lopdf::Document) -> Vec<(String, lopdf::ObjectId)> {
    let pairs = names(objects);
    let specifications = pairs.chunks(2).map(|pair| pair[1].as_reference().expect("a reference"));
    let found = specifications.map(|id| {
        let specification = objects.get_dictionary(id).expect("a file");
        let name = specification.get(b"UF").and_then(lopdf::Object::as_str).expect("a name");
        let file = specification.get(b"EF").and_then(lopdf::Object::as_dict).expect("files");
        (
            String::from_utf8_lossy(name).into_owned(),
            file.get(b"F").and_then(lopdf::Object::as_reference).expect("bytes"),
        )
    });
    found.collect()
}

fn names(objects: &lopdf::Document) -> Vec<lopdf::Object> {
    let names =
        objects.catalog().and_then(|catalog| catalog.get(b"Names")?.as_dict()?.get(b"EmbeddedFiles")?.as_dict());
    names.and_then(|tree| tree.get(b"Names")?.as_array()).expect("attachments").clone()
}

/// Takes an attachment out of the tree of names.
pub fn remove_attachment(objects: &mut lopdf::Document, at: usize) {
    let mut pairs = names(objects);
    pairs.drain(2 * at..2 * at + 2);
    let catalog = objects.catalog_mut().expect("a catalog");
    let tree = catalog.get_mut(b"Names").and_then(lopdf::Object::as_dict_mut).expect("names");
    let tree = tree.get_mut(b"EmbeddedFiles").and_then(lopdf::Object::as_dict_mut).expect("files");
    tree.set("Names", pairs);
}

/// The bytes of a stream.
pub fn bytes_of(objects: &lopdf::Document, id: lopdf::ObjectId) -> Vec<u8> {
    objects.get_object(id).and_then(lopdf::Object::as_stream).expect("a stream").get_plain_content().expect("bytes")
}

/// Gives a stream other bytes, compressed, with the size stated as it is then.
pub fn put_bytes(objects: &mut lopdf::Document, id: lopdf::ObjectId, bytes: Vec<u8>) {
    let stream = objects.get_object_mut(id).and_then(lopdf::Object::as_stream_mut).expect("a stream");
    if let Ok(about) = stream.dict.get_mut(b"Params").and_then(lopdf::Object::as_dict_mut) {
        about.set("Size", bytes.len() as i64);
    }
    stream.dict.remove(b"Filter");
    stream.set_plain_content(bytes);
    stream.compress().expect("it can be compressed");
}

/// Replaces the first occurrence; it must be there.
pub fn replaced(bytes: &[u8], old: &[u8], new: &[u8]) -> Vec<u8> {
    let at = bytes.windows(old.len()).position(|window| window == old).expect("what is to be replaced");
    [&bytes[..at], new, &bytes[at + old.len()..]].concat()
}
