//! The structure tree as objects.
//!
//! Comes in: a [`Structure`] and the pages' objects. Goes out: the text of every object of the tree. Next: [`super::file`].
//!
//! Source: ISO 32000-1:2008, 14.7.2 (structure hierarchy), 14.7.4.4 (parent tree), 14.8.5 (attributes).

use super::file::Texts;
use super::metadata::text;
use super::structure::{About, Element, Piece, Structure};
use super::syntax::{self, reference, whole};
use crate::paint::short::Short;
use lopdf::ObjectId;

/// The tree's objects. The first is its root, the second tells for each piece of each page the element it belongs to.
pub fn objects(structure: &Structure, pages: &[ObjectId], height: f64, first: u32) -> Texts {
    let writer = Writer { structure, pages, height, first };
    let mut texts = Texts::new(first);
    texts.add(|out| writer.root(out));
    texts.add(|out| writer.parents(out));
    for element in &structure.elements {
        texts.add(|out| writer.element(out, element));
    }
    texts
}

struct Writer<'s> {
    structure: &'s Structure<'s>,
    pages: &'s [ObjectId],
    height: f64,
    first: u32,
}

impl Writer<'_> {
    /// The object of an element.
    fn id(&self, element: usize) -> ObjectId {
        (self.first + 2 + element as u32, 0)
    }

    fn root(&self, out: &mut Vec<u8>) {
        out.extend_from_slice(b"<</Type/StructTreeRoot/K ");
        reference(out, self.id(0));
        out.extend_from_slice(b"/ParentTree ");
        reference(out, (self.first + 1, 0));
        out.extend_from_slice(b"/ParentTreeNextKey ");
        whole(out, self.pages.len() as u32);
        out.extend_from_slice(b">>");
    }

    fn parents(&self, out: &mut Vec<u8>) {
        let mut owners: Vec<Vec<(u32, usize)>> = vec![Vec::new(); self.pages.len()];
        for (number, element) in self.structure.elements.iter().enumerate() {
            for piece in &self.structure.pieces[element.pieces.clone()] {
                owners[piece.page as usize].push((piece.mcid, number));
            }
        }
        out.extend_from_slice(b"<</Nums[");
        for (page, mut owners) in owners.into_iter().enumerate() {
            owners.sort_unstable();
            whole(out, page as u32);
            out.push(b'[');
            for (_, element) in owners {
                reference(out, self.id(element));
                out.push(b' ');
            }
            out.push(b']');
        }
        out.extend_from_slice(b"]>>");
    }

    fn element(&self, out: &mut Vec<u8>, element: &Element) {
        out.extend_from_slice(b"<</S/");
        out.extend_from_slice(element.kind.as_bytes());
        out.extend_from_slice(b"/P ");
        match std::ptr::eq(element, &self.structure.elements[0]) {
            true => reference(out, (self.first, 0)),
            false => reference(out, self.id(element.parent)),
        }
        self.about(out, element.about);
        let pieces = &self.structure.pieces[element.pieces.clone()];
        match pieces {
            [] if element.children.is_empty() => {}
            [] => self.children(out, &element.children),
            [first, more @ ..] => self.content(out, first, more),
        }
        out.extend_from_slice(b">>");
    }

    fn children(&self, out: &mut Vec<u8>, children: &[usize]) {
        out.extend_from_slice(b"/K[");
        for &child in children {
            reference(out, self.id(child));
            out.push(b' ');
        }
        out.push(b']');
    }

    /// Pieces on the page of the first by their number, those on other pages with their page.
    fn content(&self, out: &mut Vec<u8>, first: &Piece, more: &[Piece]) {
        out.extend_from_slice(b"/Pg ");
        reference(out, self.pages[first.page as usize]);
        out.extend_from_slice(b"/K[");
        whole(out, first.mcid);
        for piece in more {
            out.push(b' ');
            if piece.page == first.page {
                whole(out, piece.mcid);
                continue;
            }
            out.extend_from_slice(b"<</Type/MCR/Pg ");
            reference(out, self.pages[piece.page as usize]);
            out.extend_from_slice(b"/MCID ");
            whole(out, piece.mcid);
            out.extend_from_slice(b">>");
        }
        out.push(b']');
    }

    fn about(&self, out: &mut Vec<u8>, about: About) {
        match about {
            About::Nothing => {}
            About::Title("") => {}
            About::Title(title) => {
                out.extend_from_slice(b"/T");
                syntax::object(out, &text(title));
            }
            About::Head(scope, columns) => {
                out.extend_from_slice(b"/A<</O/Table/Scope/");
                out.extend_from_slice(scope.as_bytes());
                if columns != 1 {
                    out.extend_from_slice(b"/ColSpan ");
                    whole(out, columns as u32);
                }
                out.extend_from_slice(b">>");
            }
            About::Figure(alt, [left, top, width, height]) => {
                out.extend_from_slice(b"/Alt");
                syntax::object(out, &text(alt));
                out.extend_from_slice(b"/A<</O/Layout/Placement/Block/BBox[");
                for side in [left, self.height - top - height, left + width, self.height - top] {
                    out.extend_from_slice(Short::new(side).as_bytes());
                    out.push(b' ');
                }
                out.extend_from_slice(b"]>>");
            }
        }
    }
}
