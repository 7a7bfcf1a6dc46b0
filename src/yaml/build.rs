//! Events of the parser to a tree of places, within limits that no hand-written file reaches.

use super::lines::{Finger, Lines};
use super::{Content, Entry, Node, Style, scan};
use crate::problem::{Place, Problem};
use saphyr_parser::{Event, Marker, Parser, ScalarStyle, Span, Tag};
use std::borrow::Cow;
use std::collections::BTreeMap;

/// Levels of lists and mappings; a visit has at most 8.
pub(super) const MAX_DEPTH: usize = 40;
/// Values of a file, aliases counted in full.
pub(super) const MAX_NODES: usize = 100_000;
/// Characters of one value.
pub(super) const MAX_CHARS: usize = 20_000;
/// Bytes of all texts that aliases repeat.
const MAX_REPEATED_BYTES: usize = 1_000_000;

/// The tree of a file as raw nodes, the top first, with problems that do not prevent a tree.
pub(super) fn build(file: &str, lines: &Lines) -> Result<(Vec<Node>, Vec<Problem>), Problem> {
    let mut builder = Builder {
        file,
        lines,
        finger: Finger::default(),
        nodes: Vec::new(),
        open: Vec::new(),
        documents: 0,
        anchors: BTreeMap::new(),
        names: BTreeMap::new(),
        repeated_bytes: 0,
        problems: Vec::new(),
    };
    // The iterator need not end after an error: the first one stops the loop.
    for event in Parser::new_from_str(lines.text()) {
        let (event, span) = event.map_err(|error| scan::explain(file, lines, &error).with_path(&builder.path()))?;
        builder.take(event, span)?;
    }
    Ok((builder.nodes, builder.problems))
}

/// A list or mapping that is not closed yet.
enum Open {
    List(usize),
    Mapping { node: usize, key: Option<Key> },
}

struct Key {
    text: String,
    line: u32,
    column: u32,
    is_plain: bool,
    /// No colon follows, but a comma or the closing brace.
    is_bare: bool,
}

struct Builder<'l> {
    file: &'l str,
    lines: &'l Lines,
    finger: Finger,
    nodes: Vec<Node>,
    open: Vec<Open>,
    documents: usize,
    anchors: BTreeMap<usize, usize>,
    names: BTreeMap<&'l str, u32>,
    repeated_bytes: usize,
    problems: Vec<Problem>,
}

fn line_and_column(marker: Marker) -> (u32, u32) {
    let number = |count: usize| u32::try_from(count).unwrap_or(u32::MAX);
    (number(marker.line()), number(marker.col() + 1))
}

impl<'l> Builder<'l> {
    fn take(&mut self, event: Event<'_>, span: Span) -> Result<(), Problem> {
        match event {
            Event::Nothing | Event::StreamStart | Event::StreamEnd | Event::DocumentEnd => Ok(()),
            Event::DocumentStart(_) => self.document(span),
            Event::Scalar(text, style, anchor, tag) => self.scalar(text, style, anchor, tag.as_deref(), span),
            Event::SequenceStart(anchor, tag) => {
                let node = self.container(Content::List(Vec::new()), anchor, tag, span)?;
                self.open.push(Open::List(node));
                Ok(())
            }
            Event::MappingStart(anchor, tag) => {
                let node = self.container(Content::Mapping(Vec::new()), anchor, tag, span)?;
                self.open.push(Open::Mapping { node, key: None });
                Ok(())
            }
            Event::SequenceEnd | Event::MappingEnd => {
                self.open.pop();
                Ok(())
            }
            Event::Alias(anchor) => self.alias(anchor, span),
        }
    }

    fn document(&mut self, span: Span) -> Result<(), Problem> {
        self.documents += 1;
        if self.documents < 2 {
            return Ok(());
        }
        let (line, column) = line_and_column(span.start);
        Err(self.problem(
            "several-documents",
            (line, column),
            format!("a second document begins at line {line}"),
            "one file holds one visit (or one kit, one client …), so that nothing of it is passed over",
            "put each into a file of its own, or delete this `---`",
        ))
    }

    fn scalar(
        &mut self,
        text: Cow<'_, str>,
        style: ScalarStyle,
        anchor: usize,
        tag: Option<&Tag>,
        span: Span,
    ) -> Result<(), Problem> {
        let place = line_and_column(span.start);
        let style = match style {
            ScalarStyle::Plain => Style::Plain,
            ScalarStyle::SingleQuoted | ScalarStyle::DoubleQuoted => Style::Quoted,
            ScalarStyle::Literal | ScalarStyle::Folded => Style::Block,
        };
        if text.len() > MAX_CHARS && text.chars().count() > MAX_CHARS {
            return Err(self.problem(
                "text-too-long",
                place,
                format!("this value has {} characters", text.chars().count()),
                format!("a value of more than {MAX_CHARS} characters is not read"),
                "shorten it, and check that no quote is missing",
            ));
        }
        self.check_marks(anchor, tag, place);
        if self.wants_key() {
            if anchor > 0 {
                self.anchors.remove(&anchor);
            }
            let is_bare = self.is_bare(span);
            let (line, column) = place;
            let new = Key { text: text.into_owned(), line, column, is_plain: style == Style::Plain, is_bare };
            if let Some(Open::Mapping { key, .. }) = self.open.last_mut() {
                *key = Some(new);
            }
            return Ok(());
        }
        // An empty value stands nowhere: it is told where its key or its dash stands.
        let nothing = text.is_empty() && style == Style::Plain;
        let key_place = match self.open.last() {
            Some(Open::Mapping { key: Some(key), .. }) if nothing => (key.line, key.column),
            Some(Open::List(_)) if nothing => self.dash_before(place),
            _ => place,
        };
        let content = Content::Leaf { text: text.into_owned(), style, told: false };
        self.attach(Node { line: key_place.0, column: key_place.1, is_alias: false, content }, anchor)?;
        Ok(())
    }

    /// The `-` that stands before a place, with nothing but spaces or a comment between.
    fn dash_before(&self, (line, column): (u32, u32)) -> (u32, u32) {
        let before: String = self.lines.line(line).chars().take(column.saturating_sub(1) as usize).collect();
        match before.split(" #").next().unwrap_or_default().trim_end() {
            dash if dash.ends_with('-') => (line, u32::try_from(dash.chars().count()).unwrap_or(column)),
            _ => (line, column),
        }
    }

    fn container(
        &mut self,
        content: Content,
        anchor: usize,
        tag: Option<Cow<'_, Tag>>,
        span: Span,
    ) -> Result<usize, Problem> {
        let (line, column) = line_and_column(span.start);
        if self.wants_key() {
            return Err(self.key_shape((line, column), "a list or mapping"));
        }
        if self.open.len() >= MAX_DEPTH {
            return Err(self.too_deep((line, column)));
        }
        self.check_marks(anchor, tag.as_deref(), (line, column));
        self.attach(Node { line, column, is_alias: false, content }, anchor)
    }

    fn wants_key(&self) -> bool {
        matches!(self.open.last(), Some(Open::Mapping { key: None, .. }))
    }

    /// Whether a comma or a closing brace follows a key where its colon is due.
    fn is_bare(&mut self, span: Span) -> bool {
        let (line, column) = line_and_column(span.end);
        let after = self.finger.from(self.lines, line, column);
        after.trim_start().starts_with([',', '}'])
    }

    fn attach(&mut self, node: Node, anchor: usize) -> Result<usize, Problem> {
        let index = self.nodes.len();
        if index >= MAX_NODES {
            return Err(self.too_many((node.line, node.column)));
        }
        self.nodes.push(node);
        if anchor > 0 {
            self.anchors.insert(anchor, index);
        }
        match self.open.last_mut() {
            None => {}
            Some(Open::List(list)) => {
                if let Content::List(children) = &mut self.nodes[*list].content {
                    children.push(index);
                }
            }
            Some(Open::Mapping { node, key }) => {
                if let (Content::Mapping(entries), Some(key)) = (&mut self.nodes[*node].content, key.take()) {
                    let Key { text, line, column, is_plain, is_bare } = key;
                    entries.push(Entry { key: text, line, column, is_plain, is_bare, value: index });
                }
            }
        }
        Ok(index)
    }

    fn alias(&mut self, anchor: usize, span: Span) -> Result<(), Problem> {
        let place = line_and_column(span.start);
        if self.wants_key() {
            return Err(self.key_shape(place, "an alias"));
        }
        let original = self.anchors.get(&anchor).copied();
        let is_open = |node: usize| {
            self.open.iter().any(|open| matches!(open, Open::List(at) | Open::Mapping { node: at, .. } if *at == node))
        };
        let Some(original) = original.filter(|node| !is_open(*node)) else {
            return Err(self.problem(
                "yaml-alias",
                place,
                "this alias repeats something that holds the alias itself",
                "it would have no end",
                "write the values out",
            ));
        };
        let copy = self
            .attach(Node { line: place.0, column: place.1, is_alias: true, content: Content::List(Vec::new()) }, 0)?;
        self.nodes[copy].content = self.repeat(original, self.open.len(), place)?;
        Ok(())
    }

    /// A copy of the content of `original`, which stands at `depth`.
    fn repeat(&mut self, original: usize, depth: usize, place: (u32, u32)) -> Result<Content, Problem> {
        if depth >= MAX_DEPTH {
            return Err(self.too_deep(place));
        }
        let content = self.nodes[original].content.clone();
        match content {
            Content::Leaf { ref text, .. } => {
                self.repeated_bytes += text.len();
                if self.repeated_bytes > MAX_REPEATED_BYTES { Err(self.too_many(place)) } else { Ok(content) }
            }
            Content::List(children) => children
                .into_iter()
                .map(|child| self.repeat_node(child, depth, place))
                .collect::<Result<_, _>>()
                .map(Content::List),
            Content::Mapping(mut entries) => {
                for entry in &mut entries {
                    self.repeated_bytes += entry.key.len();
                    entry.value = self.repeat_node(entry.value, depth, place)?;
                }
                Ok(Content::Mapping(entries))
            }
        }
    }

    fn repeat_node(&mut self, original: usize, depth: usize, place: (u32, u32)) -> Result<usize, Problem> {
        if self.nodes.len() >= MAX_NODES || self.repeated_bytes > MAX_REPEATED_BYTES {
            return Err(self.too_many(place));
        }
        let (line, column) = (self.nodes[original].line, self.nodes[original].column);
        let copy = self.nodes.len();
        self.nodes.push(Node { line, column, is_alias: true, content: Content::List(Vec::new()) });
        self.nodes[copy].content = self.repeat(original, depth + 1, place)?;
        Ok(copy)
    }

    /// Tags are refused; the name of an anchor stands once.
    fn check_marks(&mut self, anchor: usize, tag: Option<&Tag>, place: (u32, u32)) {
        if self.problems.len() > super::MAX_PROBLEMS {
            return;
        }
        if let Some(tag) = tag {
            let problem = self.problem(
                "yaml-tag",
                place,
                format!("found the tag `!{}`", tag.suffix.trim_start_matches('!')),
                "a tag tells a program how to read a value, and programs differ; here every value is read as typed",
                "delete the tag; a text that begins with ! stands in quotes",
            );
            self.problems.push(problem);
        }
        if anchor == 0 {
            return;
        }
        let after = self.finger.from(self.lines, place.0, place.1);
        let name = after.split_once('&').map_or("", |(_, name)| name);
        let end =
            name.find(|c: char| c.is_whitespace() || matches!(c, ',' | '[' | ']' | '{' | '}')).unwrap_or(name.len());
        if let Some(first) = self.names.insert(&name[..end], place.0) {
            let problem = self.problem(
                "yaml-anchor-twice",
                place,
                format!("the anchor `&{}` stands already at line {first}", &name[..end]),
                "an alias could mean either",
                "give each anchor a name of its own, or write the values out",
            );
            self.problems.push(problem);
        }
    }

    fn key_shape(&self, place: (u32, u32), found: &str) -> Problem {
        self.problem(
            "key-shape",
            place,
            format!("found {found} where a key is due"),
            "keys are plain words; braces and brackets inside a text need quotes around the text",
            "put the text in quotes, or write a word before the colon",
        )
    }

    fn too_deep(&self, place: (u32, u32)) -> Problem {
        self.problem(
            "too-deep",
            place,
            format!("lists and mappings stand more than {MAX_DEPTH} levels deep"),
            "a visit has at most 8 levels",
            "check that this is the right file, and that every bracket is closed",
        )
    }

    fn too_many(&self, place: (u32, u32)) -> Problem {
        self.problem(
            "too-many-values",
            place,
            format!(
                "the file holds more than {MAX_NODES} values, or aliases repeat more than {MAX_REPEATED_BYTES} bytes"
            ),
            "no visit comes near; aliases are counted in full",
            "check that this is the right file",
        )
    }

    fn problem(
        &self,
        code: &'static str,
        (line, column): (u32, u32),
        what: impl Into<String>,
        why: impl Into<String>,
        fix: impl Into<String>,
    ) -> Problem {
        let place = Place { file: self.file.to_owned(), line, column, path: self.path() };
        Problem::error(code, &place, what, why, fix).with_excerpt(self.lines.line(line))
    }

    /// Path of what is being read: the keys and counts of everything open.
    fn path(&self) -> String {
        let mut path = String::new();
        for (index, open) in self.open.iter().enumerate() {
            match open {
                Open::Mapping { key: Some(key), .. } => super::push_key(&mut path, &key.text),
                Open::List(node) | Open::Mapping { node, key: None } => {
                    // What is open below was attached already: the last child is the way down.
                    let is_way = index + 1 < self.open.len();
                    match &self.nodes[*node].content {
                        Content::List(children) => {
                            path.push_str(&format!("[{}]", children.len() - usize::from(is_way)))
                        }
                        Content::Mapping(entries) if is_way => {
                            entries.last().into_iter().for_each(|entry| super::push_key(&mut path, &entry.key));
                        }
                        Content::Mapping(_) | Content::Leaf { .. } => {}
                    }
                }
            }
        }
        path
    }
}
