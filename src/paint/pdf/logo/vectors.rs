//! An SVG logo as a form of vectors.
//!
//! Comes in: the file's bytes. Goes out: a [`Prepared`] form. Next: [`super::super::finish`].

use super::{LogoFault, Prepared};
use crate::paint::pdf::compress::compress_best;
use lopdf::{Dictionary, Object, Stream, dictionary};
use std::collections::BTreeMap;
use std::fmt::Write;
use usvg::tiny_skia_path::{PathSegment, Point};
use usvg::{BlendMode, FillRule, Group, LineCap, LineJoin, Node, Paint, PaintOrder, Path, Transform, roxmltree};

pub fn prepare(bytes: &[u8]) -> Result<Prepared, LogoFault> {
    let source = std::str::from_utf8(bytes).map_err(|_| LogoFault::Unreadable("not UTF-8 text".to_string()))?;
    let tree = read(source)?;
    let [width, height] = [tree.size().width(), tree.size().height()];
    let mut form = Form::default();
    // An SVG's y points down, a PDF's up.
    let _ = writeln!(form.operators, "1 0 0 -1 0 {} cm", number(height));
    form.group(tree.root(), Transform::identity(), 1.0)?;
    if form.paths == 0 {
        return Err(LogoFault::Empty);
    }
    let matrix = [1.0 / width, 0.0, 0.0, 1.0 / height, 0.0, 0.0].map(Object::Real);
    let dictionary = dictionary! {
        "Type" => "XObject",
        "Subtype" => "Form",
        "BBox" => vec![0.into(), 0.into(), Object::Real(width), Object::Real(height)],
        "Matrix" => matrix.to_vec(),
        "Resources" => form.resources(),
        "Filter" => "FlateDecode",
    };
    let object = Stream::new(dictionary, compress_best(form.operators.as_bytes()));
    Ok(Prepared { size: [f64::from(width), f64::from(height)], object, mask: None })
}

/// Reads the tree without looking at any other file.
fn read(source: &str) -> Result<usvg::Tree, LogoFault> {
    let unreadable = |error: &dyn std::fmt::Display| LogoFault::Unreadable(error.to_string());
    let document = roxmltree::Document::parse(source).map_err(|error| unreadable(&error))?;
    for node in document.descendants() {
        match node.tag_name().name() {
            "text" | "foreignObject" => {
                return Err(LogoFault::Unsupported("letters that are not converted to paths"));
            }
            "image" | "feImage" => {
                return Err(LogoFault::Unsupported("a picture inside the drawing"));
            }
            _ => {}
        }
    }
    usvg::Tree::from_xmltree(&document, &usvg::Options::default()).map_err(|error| unreadable(&error))
}

/// The operators of a form.
#[derive(Default)]
struct Form {
    operators: String,
    /// Opacities in use, in thousandths, fill and stroke alike.
    opacities: BTreeMap<u32, String>,
    paths: usize,
}

impl Form {
    fn resources(&self) -> Dictionary {
        let mut states = Dictionary::new();
        for (thousandths, name) in &self.opacities {
            let opacity = Object::Real(*thousandths as f32 / 1000.0);
            states.set(name.as_str(), dictionary! { "Type" => "ExtGState", "ca" => opacity.clone(), "CA" => opacity });
        }
        if states.is_empty() {
            Dictionary::new()
        } else {
            dictionary! { "ExtGState" => states }
        }
    }

    fn group(&mut self, group: &Group, outer: Transform, opacity: f32) -> Result<(), LogoFault> {
        let transform = outer.pre_concat(group.transform());
        if group.mask().is_some() {
            return Err(LogoFault::Unsupported("a mask"));
        }
        if !group.filters().is_empty() {
            return Err(LogoFault::Unsupported("a filter"));
        }
        if group.blend_mode() != BlendMode::Normal {
            return Err(LogoFault::Unsupported("blending"));
        }
        let opacity = opacity * group.opacity().get();
        if group.opacity().get() < 1.0 && group.children().len() > 1 {
            return Err(LogoFault::Unsupported("opacity of a whole group"));
        }
        self.operators.push_str("q\n");
        if let Some(clip) = group.clip_path() {
            self.clip(clip, transform)?;
        }
        for child in group.children() {
            match child {
                Node::Group(group) => self.group(group, transform, opacity)?,
                Node::Path(path) => self.path(path, transform, opacity)?,
                Node::Image(_) => {
                    return Err(LogoFault::Unsupported("a picture inside the drawing"));
                }
                Node::Text(_) => {
                    return Err(LogoFault::Unsupported("letters that are not converted to paths"));
                }
            }
        }
        self.operators.push_str("Q\n");
        Ok(())
    }

    fn clip(&mut self, clip: &usvg::ClipPath, transform: Transform) -> Result<(), LogoFault> {
        if clip.clip_path().is_some() {
            return Err(LogoFault::Unsupported("a clipping path that is clipped itself"));
        }
        let mut even_odd = Vec::new();
        self.clip_paths(clip.root(), transform.pre_concat(clip.transform()), &mut even_odd)?;
        self.operators.push_str(if even_odd == [true] { "W* n\n" } else { "W n\n" });
        Ok(())
    }

    fn clip_paths(&mut self, group: &Group, outer: Transform, even_odd: &mut Vec<bool>) -> Result<(), LogoFault> {
        let transform = outer.pre_concat(group.transform());
        if group.clip_path().is_some() {
            return Err(LogoFault::Unsupported("a clipping path that is clipped itself"));
        }
        for child in group.children() {
            match child {
                Node::Group(group) => self.clip_paths(group, transform, even_odd)?,
                Node::Path(path) => {
                    even_odd.push(path.fill().is_some_and(|fill| fill.rule() == FillRule::EvenOdd));
                    self.segments(path, transform);
                }
                Node::Image(_) | Node::Text(_) => {
                    return Err(LogoFault::Unsupported("letters or a picture as a clipping path"));
                }
            }
        }
        Ok(())
    }

    fn path(&mut self, path: &Path, transform: Transform, opacity: f32) -> Result<(), LogoFault> {
        if !path.is_visible() {
            return Ok(());
        }
        self.operators.push_str("q\n");
        let Transform { sx, ky, kx, sy, tx, ty } = transform;
        self.operands(&[sx, ky, kx, sy, tx, ty], "cm");
        match path.paint_order() {
            PaintOrder::FillAndStroke => {
                self.fill(path, opacity)?;
                self.stroke(path, opacity)?;
            }
            PaintOrder::StrokeAndFill => {
                self.stroke(path, opacity)?;
                self.fill(path, opacity)?;
            }
        }
        self.operators.push_str("Q\n");
        Ok(())
    }

    fn fill(&mut self, path: &Path, opacity: f32) -> Result<(), LogoFault> {
        let Some(fill) = path.fill() else {
            return Ok(());
        };
        self.operands(&colour(fill.paint())?, "rg");
        self.opacity(opacity * fill.opacity().get());
        self.segments(path, Transform::identity());
        self.operators.push_str(if fill.rule() == FillRule::EvenOdd { "f*\n" } else { "f\n" });
        self.paths += 1;
        Ok(())
    }

    fn stroke(&mut self, path: &Path, opacity: f32) -> Result<(), LogoFault> {
        let Some(stroke) = path.stroke() else {
            return Ok(());
        };
        self.operands(&colour(stroke.paint())?, "RG");
        self.opacity(opacity * stroke.opacity().get());
        self.operands(&[stroke.width().get()], "w");
        self.operands(&[stroke.miterlimit().get()], "M");
        let cap = match stroke.linecap() {
            LineCap::Butt => "0 J\n",
            LineCap::Round => "1 J\n",
            LineCap::Square => "2 J\n",
        };
        let join = match stroke.linejoin() {
            LineJoin::Miter | LineJoin::MiterClip => "0 j\n",
            LineJoin::Round => "1 j\n",
            LineJoin::Bevel => "2 j\n",
        };
        self.operators.push_str(cap);
        self.operators.push_str(join);
        let dashes: Vec<String> = stroke.dasharray().unwrap_or(&[]).iter().map(|part| number(*part)).collect();
        let _ = writeln!(self.operators, "[{}] {} d", dashes.join(" "), number(stroke.dashoffset()));
        self.segments(path, Transform::identity());
        self.operators.push_str("S\n");
        self.paths += 1;
        Ok(())
    }

    /// Sets the opacity. It is set back at the end of the path's own state, or by the next call.
    fn opacity(&mut self, opacity: f32) {
        let thousandths = (opacity * 1000.0).round() as u32;
        let name = self.opacities.entry(thousandths).or_insert_with(|| format!("O{thousandths}"));
        let _ = writeln!(self.operators, "/{name} gs");
    }

    fn segments(&mut self, path: &Path, transform: Transform) {
        let mut last = Point::zero();
        let place = |mut point: Point| {
            transform.map_point(&mut point);
            point
        };
        for segment in path.data().segments() {
            match segment {
                PathSegment::MoveTo(to) => self.step(&[place(to)], "m", &mut last),
                PathSegment::LineTo(to) => self.step(&[place(to)], "l", &mut last),
                PathSegment::QuadTo(by, to) => {
                    let (by, to) = (place(by), place(to));
                    let toward = |end: Point| {
                        Point::from_xy(end.x + (by.x - end.x) * 2.0 / 3.0, end.y + (by.y - end.y) * 2.0 / 3.0)
                    };
                    self.step(&[toward(last), toward(to), to], "c", &mut last);
                }
                PathSegment::CubicTo(one, two, to) => self.step(&[place(one), place(two), place(to)], "c", &mut last),
                PathSegment::Close => self.operators.push_str("h\n"),
            }
        }
    }

    fn step(&mut self, points: &[Point], operator: &str, last: &mut Point) {
        let parts: Vec<f32> = points.iter().flat_map(|point| [point.x, point.y]).collect();
        self.operands(&parts, operator);
        *last = points[points.len() - 1];
    }

    fn operands(&mut self, parts: &[f32], operator: &str) {
        for part in parts {
            self.operators.push_str(&number(*part));
            self.operators.push(' ');
        }
        self.operators.push_str(operator);
        self.operators.push('\n');
    }
}

fn colour(paint: &Paint) -> Result<[f32; 3], LogoFault> {
    match paint {
        Paint::Color(colour) => Ok([colour.red, colour.green, colour.blue].map(|part| f32::from(part) / 255.0)),
        Paint::LinearGradient(_) | Paint::RadialGradient(_) => Err(LogoFault::Unsupported("a gradient")),
        Paint::Pattern(_) => Err(LogoFault::Unsupported("a pattern")),
    }
}

/// A number as PDF has it: no exponent, no needless figures.
fn number(value: f32) -> String {
    let text = format!("{value:.4}");
    let text = text.trim_end_matches('0').trim_end_matches('.');
    if text == "-0" { "0".to_string() } else { text.to_string() }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn svg(inside: &str) -> Result<Prepared, LogoFault> {
        prepare(format!(r##"<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 36 28">{inside}</svg>"##).as_bytes())
    }

    #[test]
    fn plain_shapes_become_a_form_of_their_size() {
        let logo =
            svg(r##"<g fill="#1d4a57"><rect width="9" height="4"/><circle cx="9" cy="9" r="3" opacity="0.5"/></g>"##)
                .expect("plain shapes");
        assert_eq!(logo.size, [36.0, 28.0]);
        assert!(logo.object.dict.get(b"Resources").and_then(|it| it.as_dict()).expect("resources").has(b"ExtGState"));
    }

    #[test]
    fn what_is_not_painted_is_refused_by_name() {
        let fault = |inside| svg(inside).expect_err("not painted");
        assert!(
            matches!(fault("<text x='1' y='9'>Q</text>"), LogoFault::Unsupported(what) if what.contains("letters"))
        );
        assert!(matches!(fault("<image href='a.png' width='9' height='9'/>"), LogoFault::Unsupported(_)));
        let gradient = "<linearGradient id='g'><stop stop-color='red'/><stop offset='1' stop-color='blue'/></linearGradient>\
                        <rect width='9' height='9' fill='url(#g)'/>";
        assert_eq!(fault(gradient), LogoFault::Unsupported("a gradient"));
        assert_eq!(fault(""), LogoFault::Empty);
    }

    #[test]
    fn a_broken_file_is_refused_and_nothing_panics() {
        assert!(matches!(prepare(b"<svg"), Err(LogoFault::Unreadable(_))));
        assert!(matches!(prepare(&[0xff, 0xfe, 0]), Err(LogoFault::Unreadable(_))));
        assert!(matches!(prepare(b"<html/>"), Err(LogoFault::Unreadable(_))));
    }
}
