//! The text of a page without what every page bears.

use halfcell::document::{Block, Document, Table};

/// A page's text without white, header and footer.
pub fn body(document: &Document, page: &str, number: usize, count: usize) -> String {
    let running = &document.running;
    let address = if number == 1 { document.brand.lines.concat() } else { String::new() };
    let place = running.page.replace("{n}", &number.to_string()).replace("{m}", &count.to_string());
    let head = [
        &document.brand.name,
        &address,
        &document.number,
        &running.issued,
        "·",
        &place,
        running.draft.as_deref().unwrap_or(""),
    ];
    let foot = running.footer_left.concat() + &running.footer_right.concat();
    let page = solid(page);
    let page = page.strip_prefix(&solid(&head.concat())).unwrap_or_else(|| panic!("header of page {number}: {page}"));
    let page = page.strip_suffix(&solid(&foot)).unwrap_or_else(|| panic!("footer of page {number}: {page}"));
    page.to_string()
}

/// A page's text without the repeated head of a table.
pub fn without_head<'b>(document: &Document, body: &'b str) -> &'b str {
    let heads = document.parts.iter().flat_map(|part| tables(&part.blocks));
    let heads = heads
        .map(|table| solid(&(table.caption.clone() + &table.columns.iter().map(|it| &*it.head).collect::<String>())));
    heads.filter_map(|head| body.strip_prefix(&head)).next().unwrap_or(body)
}

fn tables(blocks: &[Block]) -> Vec<&Table> {
    blocks.iter().flat_map(tables_of).collect()
}

fn tables_of(block: &Block) -> Vec<&Table> {
    match block {
        Block::Table(table) => vec![table],
        Block::Columns(columns) => columns.iter().flat_map(|column| tables(&column.blocks)).collect(),
        _ => Vec::new(),
    }
}

/// A text without white.
pub fn solid(text: &str) -> String {
    text.chars().filter(|c| !c.is_whitespace()).collect()
}
