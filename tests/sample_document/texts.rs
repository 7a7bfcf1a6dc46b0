//! The texts of blocks in reading order.

use halfcell::document::*;

/// All texts of blocks in reading order, as the painter is to give them.
pub fn texts(blocks: &[Block]) -> Vec<String> {
    blocks.iter().flat_map(block_texts).filter(|text| !text.trim().is_empty()).collect()
}

fn block_texts(block: &Block) -> Vec<String> {
    let of = |p: &Paragraph| p.lead.iter().cloned().chain([p.text.clone()]).collect::<Vec<_>>();
    match block {
        Block::Columns(columns) => columns.iter().flat_map(|c| texts(&c.blocks)).collect(),
        Block::Heading(text) | Block::EndMark(text) => vec![text.clone()],
        Block::Facts(facts) => {
            facts.iter().flat_map(|fact| [vec![fact.label.clone()], fact.value.clone()].concat()).collect()
        }
        Block::Verdict(verdict) => [vec![verdict.title.clone()], verdict.lines.clone()].concat(),
        Block::Figure(figure) => figure
            .shapes
            .iter()
            .filter_map(|shape| match shape {
                Shape::Label { text, .. } => Some(text.clone()),
                Shape::Line { .. } | Shape::Area { .. } | Shape::Circle { .. } => None,
            })
            .collect(),
        Block::Table(table) => {
            let heads = table.columns.iter().map(|column| column.head.clone());
            let rows = table.rows.iter().flat_map(|row| match row {
                Row::Group(paragraph) => of(paragraph),
                Row::Cells(cells) => cells.iter().map(|cell| cell.text.clone()).collect(),
            });
            heads.chain(rows).collect()
        }
        Block::Paragraph(paragraph) | Block::Caution(paragraph) => of(paragraph),
        Block::List(paragraphs) => paragraphs.iter().flat_map(of).collect(),
        Block::Signatures(signatures) => signatures
            .iter()
            .flat_map(|s| s.name.iter().cloned().chain([s.meaning.clone()]).collect::<Vec<_>>())
            .collect(),
        Block::Rule => Vec::new(),
    }
}
