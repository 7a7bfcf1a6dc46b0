//! How a stranger checks the dossier, and the list of its files.

use super::documents::section;
use super::table::{Table, link, marked_up, short};
use super::{Page, Section};
use crate::dossier::folder::{Folder, SUMS};
use crate::paint::html::markup::{element, text, words};

/// Files listed on the page; of more, the list beside it tells.
const LISTED: usize = 1000;

/// The recipe that follows the chain of the extract with ordinary tools, in the dossier's folder: a line in full is hashed anew, of
/// another its hash is taken, and each must name the hash of the line before.
pub const RECIPE: &str = r#"previous=0000000000000000000000000000000000000000000000000000000000000000
number=0
while IFS= read -r line; do
    number=$((number + 1))
    case $line in
        "{\"entry\":$number,\"sha256\":"*",\"previous\":\"$previous\"}")
            previous=$(printf '%s' "$line" | cut -d '"' -f 6) ;;
        "{\"entry\":$number,\"line\":"*"\"previous\":\"$previous\"}")
            previous=$(printf '%s' "$line" | sha256sum | cut -c 1-64) ;;
        *)
            echo "line $number: another line stood before it"; break ;;
    esac
done < register/extract.jsonl
echo "$number lines; the last has the hash $previous"
"#;

/// What each step shows, and how it is done.
pub fn proof(page: &Page) -> Section {
    let mut markup = String::new();
    let step = |markup: &mut String, key: &str, commands: &str| {
        element(markup, "p", page.label(key));
        markup.push_str("<pre tabindex=\"0\"><code>");
        text(markup, commands);
        markup.push_str("</code></pre>\n");
    };
    step(&mut markup, "check-files", "sha256sum -c SHA256SUMS");
    let first = page.index.told.iter().find(|told| told.files[0] && told.folder() == Some("certificates"));
    if let Some(told) = first {
        step(
            &mut markup,
            "check-document",
            &format!("halfcell verify certificates/{}.pdf", crate::issue::stem(&told.opened.file)),
        );
    }
    step(&mut markup, "check-register", RECIPE);
    let head = page.index.order.view.head();
    element(&mut markup, "p", &page.say("check-head", &[("entry", &head.entry.to_string()), ("hash", &head.hash)]));
    element(&mut markup, "p", page.label("check-limits"));
    section(page, "verify", 0, markup)
}

/// Every file with its hash.
pub fn files(page: &Page, folder: &Folder) -> Section {
    let count = folder.count();
    let mut markup = String::from("<p>");
    words(&mut markup, page.label("files-listed"));
    markup.push(' ');
    markup.push_str(&link(SUMS, SUMS, None));
    markup.push_str("</p>\n");
    if count <= LISTED {
        let mut table = Table::new(page.label("files"), &[page.label("file"), page.label("sha256")]);
        for (name, hash) in &folder.sums() {
            table.row(&[marked_up(link(name, name, None)), short(hash).hash()]);
        }
        markup.push_str(&table.end());
    }
    section(page, "files", count, markup)
}
