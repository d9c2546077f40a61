//! What must hold before a drawing is expanded: size, nesting, references.
//!
//! A drawing of a few lines can stand for a billion elements (uses of uses) or for endless ones
//! (a group that uses itself). Elements are counted over the graph of references, each id once, so
//! the count takes no longer than reading.

use std::collections::BTreeMap;

use resvg::usvg::roxmltree::{self, Document, Node};

use super::error::DrawingError;

/// Largest file read [bytes].
pub const MAX_DRAWING_BYTES: usize = 8 << 20;
/// Most elements after all references are followed.
pub const MAX_ELEMENTS: u64 = 200_000;
/// Deepest nesting of elements, references included.
pub const MAX_NESTING: u32 = 100;
/// Most attributes of one element (they are compared pairwise by the reader).
const MAX_ATTRIBUTES: u64 = 256;
/// Most entities of the document type.
const MAX_ENTITIES: u64 = 100;
/// Most matches of style rules against elements.
const MAX_STYLE_MATCHES: u64 = 5_000_000;

/// The bytes as text, if they may be a drawing.
pub(super) fn text_of<'a>(bytes: &'a [u8], name: &str) -> Result<&'a str, DrawingError> {
    let name = || name.to_owned();
    if bytes.len() > MAX_DRAWING_BYTES {
        return Err(DrawingError::TooLarge {
            name: name(),
            bytes: bytes.len(),
        });
    }
    if bytes.starts_with(&[0x1f, 0x8b]) {
        return Err(DrawingError::Compressed { name: name() });
    }
    let text = std::str::from_utf8(bytes).map_err(|error| DrawingError::NotUtf8 {
        name: name(),
        at: error.valid_up_to(),
    })?;
    let too_many = |what, count, max| {
        Err(DrawingError::TooMany {
            name: name(),
            what,
            count,
            max,
        })
    };
    let entities = text.matches("<!ENTITY").count() as u64;
    if entities > MAX_ENTITIES {
        return too_many("entities", entities, MAX_ENTITIES);
    }
    let attributes = most_attributes(text);
    if attributes > MAX_ATTRIBUTES {
        return too_many("attributes in one element", attributes, MAX_ATTRIBUTES);
    }
    Ok(text)
}

/// Most equal signs outside quotes between an opening bracket and its closing one.
fn most_attributes(text: &str) -> u64 {
    let mut most = 0;
    let mut rest = text;
    while let Some(start) = rest.find('<') {
        rest = rest.get(start + 1..).unwrap_or("");
        if let Some(comment) = rest.strip_prefix("!--") {
            let end = comment.find("-->").unwrap_or(comment.len());
            rest = comment.get(end..).unwrap_or("");
            continue;
        }
        let mut quote = None;
        let mut count = 0;
        let mut end = rest.len();
        for (i, byte) in rest.bytes().enumerate() {
            match (quote, byte) {
                (Some(q), b) if q == b => quote = None,
                (Some(_), _) => {}
                (None, b'"' | b'\'') => quote = Some(byte),
                (None, b'=') => count += 1,
                (None, b'>') => {
                    end = i;
                    break;
                }
                (None, _) => {}
            }
        }
        most = most.max(count);
        // Every byte is ASCII here, so the cut is between characters.
        rest = rest.get(end..).unwrap_or("");
    }
    most
}

/// Reads the XML.
pub(super) fn parse<'a>(text: &'a str, name: &str) -> Result<Document<'a>, DrawingError> {
    let options = roxmltree::ParsingOptions {
        allow_dtd: true,
        nodes_limit: 4 * MAX_ELEMENTS as u32,
        ..roxmltree::ParsingOptions::default()
    };
    let document = Document::parse_with_options(text, options).map_err(|error| {
        let at = error.pos();
        DrawingError::Xml {
            name: name.to_owned(),
            line: at.row as usize,
            column: at.col as usize,
            why: error.to_string(),
        }
    })?;
    let root = document.root_element().tag_name();
    if root.name() != "svg" {
        return Err(DrawingError::NotSvg {
            name: name.to_owned(),
            root: root.name().to_owned(),
        });
    }
    Ok(document)
}

/// Refuses drawings that contain themselves, nest too deep or expand to too many elements.
pub(super) fn check_expansion(document: &Document<'_>, name: &str) -> Result<(), DrawingError> {
    let mut counter = Counter {
        ids: BTreeMap::new(),
        known: vec![State::New; document.descendants().count()],
        document,
        name,
    };
    let mut style_rules = 0;
    let mut elements = 0;
    for node in document.descendants() {
        if let Some(id) = node.attribute("id") {
            counter.ids.entry(id).or_insert(node);
        }
        if node.is_element() {
            elements += 1;
        }
        if node.has_tag_name("style") {
            let text = || node.children().filter_map(|c| c.text());
            style_rules += text()
                .map(|t| t.matches(['{', ',']).count() as u64)
                .sum::<u64>();
        }
    }
    let total = counter.measure(document.root_element(), 0)?;
    if total.count > MAX_ELEMENTS {
        return Err(DrawingError::Explosion {
            name: name.to_owned(),
            count: total.count,
        });
    }
    // Style sheets may refer too: taken as if every element did.
    let matches = style_rules * total.count.max(elements);
    if matches > MAX_STYLE_MATCHES {
        return Err(DrawingError::TooMany {
            name: name.to_owned(),
            what: "style rules times elements",
            count: matches,
            max: MAX_STYLE_MATCHES,
        });
    }
    Ok(())
}

/// Size of an element with all it refers to.
#[derive(Debug, Clone, Copy)]
struct Measure {
    count: u64,
    height: u32,
}

#[derive(Debug, Clone, Copy)]
enum State {
    New,
    Open,
    Done(Measure),
}

struct Counter<'d, 'input> {
    ids: BTreeMap<&'d str, Node<'d, 'input>>,
    /// By node index, in document order.
    known: Vec<State>,
    document: &'d Document<'input>,
    name: &'d str,
}

impl<'d, 'input> Counter<'d, 'input> {
    /// Elements and nesting under a node; recursion ends at [`MAX_NESTING`].
    fn measure(&mut self, node: Node<'d, 'input>, depth: u32) -> Result<Measure, DrawingError> {
        let too_deep = || DrawingError::TooDeep {
            name: self.name.to_owned(),
        };
        if depth > MAX_NESTING {
            return Err(too_deep());
        }
        let index = node.id().get_usize();
        match self.known.get(index) {
            Some(State::Done(measure)) => {
                if depth + measure.height > MAX_NESTING {
                    return Err(too_deep());
                }
                return Ok(*measure);
            }
            Some(State::Open) => {
                return Err(DrawingError::SelfReference {
                    name: self.name.to_owned(),
                    line: self.document.text_pos_at(node.range().start).row as usize,
                    id: node.attribute("id").unwrap_or_default().to_owned(),
                });
            }
            _ => {}
        }
        self.set(index, State::Open);
        let mut inner = Measure {
            count: 1,
            height: 0,
        };
        let add = |inner: &mut Measure, part: Measure| {
            inner.count = inner.count.saturating_add(part.count);
            inner.height = inner.height.max(part.height + 1);
        };
        for child in node.children().filter(Node::is_element) {
            let part = self.measure(child, depth + 1)?;
            add(&mut inner, part);
        }
        let mut referred = 0_u64;
        for id in references(node) {
            if let Some(&target) = self.ids.get(id) {
                let part = self.measure(target, depth + 1)?;
                add(&mut inner, part);
                referred = referred.saturating_add(part.count);
            }
        }
        // What a group refers to (a pattern, a clip) may be repeated for each element in it.
        inner.count = inner
            .count
            .saturating_add(referred.saturating_mul(inner.count - 1).min(u64::MAX / 4));
        if !node.has_children() {
            inner.count = inner.count.min(referred.saturating_add(1));
        }
        self.set(index, State::Done(inner));
        Ok(inner)
    }

    fn set(&mut self, index: usize, state: State) {
        if let Some(slot) = self.known.get_mut(index) {
            *slot = state;
        }
    }
}

/// Ids that an element refers to: its link, and `url(#id)` in any attribute.
fn references<'d>(node: Node<'d, '_>) -> Vec<&'d str> {
    let mut ids = Vec::new();
    for attribute in node.attributes() {
        let value = attribute.value();
        if attribute.name() == "href" {
            // Links of hyperlinks lead nowhere in a drawing.
            if let Some(id) = value
                .trim()
                .strip_prefix('#')
                .filter(|_| !node.has_tag_name("a"))
            {
                ids.push(id);
            }
            continue;
        }
        for part in value.split("url(").skip(1) {
            let target = part.split(')').next().unwrap_or("");
            let target = target.trim_matches(|c: char| c.is_whitespace() || c == '"' || c == '\'');
            if let Some(id) = target.strip_prefix('#') {
                ids.push(id);
            }
        }
    }
    ids
}
