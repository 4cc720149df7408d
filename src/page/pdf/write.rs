//! The file: pages and fonts through the PDF library, the rest (identity, outline, structure, links) by hand.

use lopdf::{Dictionary, Object, ObjectId, Stream, StringFormat, dictionary};
use printpdf::{FontId, Op, ParsedFont, PdfDocument, PdfFont, PdfPage, PdfSaveOptions, Pt};
use sha2::{Digest, Sha256};

use crate::page::document::{Document, Style};
use crate::page::fonts;
use crate::page::pdf::RenderError;
use crate::page::pdf::colour;
use crate::page::pdf::ops;
use crate::page::pdf::read;
use crate::page::pdf::record::{Bookmark, Record};
use crate::page::pdf::save;
use crate::page::pdf::structure::{self, Tree};

pub fn failed(error: impl std::fmt::Display) -> RenderError {
    RenderError::Write(error.to_string())
}

/// Text in a dictionary: UTF-16 with its mark.
pub fn text(words: &str) -> Object {
    let mut bytes = vec![0xFE, 0xFF];
    for unit in words.encode_utf16() {
        bytes.extend(unit.to_be_bytes());
    }
    Object::String(bytes, StringFormat::Hexadecimal)
}

/// Puts the file together.
pub fn write(doc: &Document, mut record: Record) -> Result<Vec<u8>, RenderError> {
    let mut pdf = PdfDocument::new(&fonts::clean(&doc.title));
    for style in [Style::Plain, Style::Bold, Style::Italic] {
        let name = ops::font_name(style);
        let parsed = ParsedFont::from_bytes(fonts::bytes(style), 0, &mut Vec::new()).ok_or(RenderError::Font(name))?;
        // The name is given by hand: the library's own would come from a count kept by the process.
        pdf.resources.fonts.map.insert(FontId(name.to_owned()), PdfFont::new(parsed));
    }
    let letters = ops::of_letters(&record);
    let contents = contents(&mut record, &mut pdf)?;
    let mut file = framed(&record, &mut pdf, letters, contents)?;
    drop(pdf);
    let tree = finish(doc, &record, &mut file)?;
    file.compress();
    save::save(file, &tree)
}

/// How many sheets are drawn at a time: the operations of the library take far more room than the bytes they come to.
const AT_A_TIME: usize = 8;

fn page(record: &Record, ops: Vec<Op>) -> PdfPage {
    PdfPage::new(Pt(record.width).into(), Pt(record.height).into(), ops)
}

fn converted(pdf: &PdfDocument) -> lopdf::Document {
    let options = PdfSaveOptions { optimize: false, subset_fonts: false, secure: true, image_optimization: None };
    pdf.to_lopdf_document(&options, &mut Vec::new())
}

fn content_of(file: &lopdf::Document, page: ObjectId) -> Result<ObjectId, RenderError> {
    file.get_dictionary(page).and_then(|page| page.get(b"Contents")).and_then(Object::as_reference).map_err(failed)
}

/// What is drawn on each sheet, packed; the shapes are let go of.
fn contents(record: &mut Record, pdf: &mut PdfDocument) -> Result<Vec<Object>, RenderError> {
    let mut sheets = std::mem::take(&mut record.sheets);
    let mut out = Vec::with_capacity(sheets.len());
    for drawn in sheets.chunks_mut(AT_A_TIME) {
        pdf.pages = drawn.iter().map(|sheet| page(record, ops::of_sheet(record, sheet))).collect();
        for sheet in drawn {
            sheet.under = Vec::new();
            sheet.marks.iter_mut().for_each(|(_, shapes)| *shapes = Vec::new());
        }
        let mut part = converted(pdf);
        for page in part.get_pages().into_values() {
            let content = content_of(&part, page)?;
            let mut content = part.objects.remove(&content).ok_or_else(|| failed("a page without its content"))?;
            content.as_stream_mut().and_then(Stream::compress).map_err(failed)?;
            out.push(content);
        }
    }
    record.sheets = sheets;
    Ok(out)
}

/// Pages with these contents, and the fonts for these letters.
fn framed(
    record: &Record,
    pdf: &mut PdfDocument,
    letters: Vec<Op>,
    contents: Vec<Object>,
) -> Result<lopdf::Document, RenderError> {
    pdf.pages = record.sheets.iter().map(|_| page(record, Vec::new())).collect();
    if let Some(first) = pdf.pages.first_mut() {
        first.ops = letters;
    }
    let mut file = converted(pdf);
    for (page, drawn) in file.get_pages().into_values().zip(contents) {
        let content = content_of(&file, page)?;
        file.set_object(content, drawn);
    }
    Ok(file)
}

fn finish<'a>(doc: &Document, record: &'a Record, file: &mut lopdf::Document) -> Result<Tree<'a>, RenderError> {
    file.version = "1.7".to_owned();
    let pages: Vec<ObjectId> = file.get_pages().into_values().collect();
    let boxed: Vec<Object> = [0.0, 0.0, record.width, record.height].into_iter().map(Object::Real).collect();
    for page in &pages {
        let page = file.get_dictionary_mut(*page).map_err(failed)?;
        page.remove(b"Annots");
        for key in ["MediaBox", "TrimBox", "CropBox"] {
            page.set(key, Object::Array(boxed.clone()));
        }
    }
    identity(doc, file);
    let info = info(doc);
    let info = file.add_object(info);
    file.trailer.set("Info", info);
    let outline = outline(record, &pages, file);
    let tree = structure::write(record, pages.clone(), file).map_err(failed)?;
    colour::intend(file).map_err(failed)?;
    let metadata = metadata(doc);
    let metadata = file.add_object(metadata);
    let catalog = file.catalog_mut().map_err(failed)?;
    catalog.set("Lang", Object::string_literal(doc.language.clone()));
    catalog.set("StructTreeRoot", tree.root);
    catalog.set("MarkInfo", dictionary! { "Marked" => true });
    catalog.set("ViewerPreferences", dictionary! { "DisplayDocTitle" => true });
    catalog.set("Metadata", metadata);
    if let Some(outline) = outline {
        catalog.set("Outlines", outline);
        catalog.set("PageMode", Object::Name(b"UseOutlines".to_vec()));
    }
    Ok(tree)
}

/// The file's identity: from the digest of what was read and the title, so that it is the same on each run.
fn identity(doc: &Document, file: &mut lopdf::Document) {
    let mut hash = Sha256::new();
    hash.update(doc.digest.as_bytes());
    hash.update([0]);
    hash.update(doc.title.as_bytes());
    hash.update([0]);
    hash.update(doc.facility.as_bytes());
    hash.update([0]);
    hash.update(doc.period.as_bytes());
    let id: Vec<u8> = hash.finalize().iter().copied().take(16).collect();
    let id = Object::String(id, StringFormat::Hexadecimal);
    file.trailer.set("ID", Object::Array(vec![id.clone(), id]));
}

fn info(doc: &Document) -> Dictionary {
    let mut info = dictionary! {
        "Title" => text(&full_title(doc)),
        "Author" => text(&doc.facility),
        "Subject" => text(&doc.period),
        "Creator" => text(concat!("bywash ", env!("CARGO_PKG_VERSION"))),
        "Producer" => text(concat!("bywash ", env!("CARGO_PKG_VERSION"))),
    };
    if let Some(made) = doc.made.as_ref().and_then(|made| serde_json::to_string(made).ok()) {
        info.set(read::MADE, text(&made));
    }
    if let Some(date) = doc.dated {
        let stamp = Object::string_literal(date.format("D:%Y%m%d").to_string());
        info.set("CreationDate", stamp.clone());
        info.set("ModDate", stamp);
    }
    info
}

fn full_title(doc: &Document) -> String {
    format!("{}: {}, {}", doc.title, doc.facility, doc.period)
}

fn metadata(doc: &Document) -> Stream {
    let escape = |words: &str| fonts::clean(words).replace('&', "&amp;").replace('<', "&lt;").replace('>', "&gt;");
    let dates = doc.dated.map_or_else(String::new, |date| {
        let date = date.format("%Y-%m-%d");
        format!("<xmp:CreateDate>{date}</xmp:CreateDate><xmp:ModifyDate>{date}</xmp:ModifyDate>")
    });
    let packet = format!(
        "<?xpacket begin=\"\u{feff}\" id=\"W5M0MpCehiHzreSzNTczkc9d\"?>\n\
         <x:xmpmeta xmlns:x=\"adobe:ns:meta/\"><rdf:RDF xmlns:rdf=\"http://www.w3.org/1999/02/22-rdf-syntax-ns#\">\n\
         <rdf:Description rdf:about=\"\" xmlns:dc=\"http://purl.org/dc/elements/1.1/\" \
         xmlns:xmp=\"http://ns.adobe.com/xap/1.0/\" xmlns:pdf=\"http://ns.adobe.com/pdf/1.3/\">\n\
         <dc:title><rdf:Alt><rdf:li xml:lang=\"x-default\">{}</rdf:li></rdf:Alt></dc:title>\n\
         <dc:creator><rdf:Seq><rdf:li>{}</rdf:li></rdf:Seq></dc:creator>\n\
         <dc:language><rdf:Bag><rdf:li>{}</rdf:li></rdf:Bag></dc:language>\n\
         <dc:identifier>{}</dc:identifier>\n\
         <xmp:CreatorTool>bywash {version}</xmp:CreatorTool><pdf:Producer>bywash {version}</pdf:Producer>{dates}\n\
         </rdf:Description></rdf:RDF></x:xmpmeta>\n<?xpacket end=\"w\"?>",
        escape(&full_title(doc)),
        escape(&doc.facility),
        escape(&doc.language),
        escape(&doc.digest),
        version = env!("CARGO_PKG_VERSION"),
    );
    let mut stream = Stream::new(dictionary! { "Type" => "Metadata", "Subtype" => "XML" }, packet.into_bytes());
    stream.allows_compression = false;
    stream
}

/// A destination: the page, with this height at the top of the window.
pub fn destination(page: ObjectId, top: f32) -> Object {
    Object::Array(vec![
        Object::Reference(page),
        Object::Name(b"XYZ".to_vec()),
        Object::Null,
        Object::Real((top * 100.0).round() / 100.0),
        Object::Null,
    ])
}

/// Nested bookmarks: sections, with their sub-heads below them, folded.
fn outline(record: &Record, pages: &[ObjectId], file: &mut lopdf::Document) -> Option<ObjectId> {
    let marks: Vec<&Bookmark> = record.bookmarks.iter().filter(|mark| mark.sheet < pages.len()).collect();
    if marks.is_empty() {
        return None;
    }
    let root = file.new_object_id();
    let ids: Vec<ObjectId> = marks.iter().map(|_| file.new_object_id()).collect();
    // The parent of a sub-head is the section before it; of anything else, the root.
    let mut parents = Vec::with_capacity(marks.len());
    let mut section = None;
    for (i, mark) in marks.iter().enumerate() {
        if mark.level <= 2 {
            parents.push(None);
            section = Some(i);
        } else {
            parents.push(section);
        }
    }
    let children = |parent: Option<usize>| -> Vec<usize> {
        (0..marks.len()).filter(|i| parents.get(*i).copied().flatten() == parent).collect()
    };
    let top = children(None);
    let id = |i: Option<&usize>| i.and_then(|i| ids.get(*i)).copied();
    for (i, mark) in marks.iter().enumerate() {
        let parent = parents.get(i).copied().flatten();
        let siblings = children(parent);
        let place = siblings.iter().position(|s| *s == i).unwrap_or(0);
        let (Some(own), Some(page)) = (ids.get(i), pages.get(mark.sheet)) else {
            continue;
        };
        let mut item = dictionary! {
            "Title" => text(&fonts::clean(&mark.text)),
            "Parent" => parent.and_then(|p| ids.get(p).copied()).unwrap_or(root),
            "Dest" => destination(*page, record.height - mark.y + 6.0),
        };
        if let Some(before) = place.checked_sub(1).and_then(|p| id(siblings.get(p))) {
            item.set("Prev", before);
        }
        if let Some(after) = id(siblings.get(place + 1)) {
            item.set("Next", after);
        }
        let below = if mark.level <= 2 { children(Some(i)) } else { Vec::new() };
        if let (Some(first), Some(last)) = (id(below.first()), id(below.last())) {
            item.set("First", first);
            item.set("Last", last);
            item.set("Count", -i64::try_from(below.len()).unwrap_or(0));
        }
        file.set_object(*own, item);
    }
    let mut outlines = dictionary! {
        "Type" => "Outlines",
        "Count" => i64::try_from(top.len()).unwrap_or(0),
    };
    if let (Some(first), Some(last)) = (id(top.first()), id(top.last())) {
        outlines.set("First", first);
        outlines.set("Last", last);
    }
    file.set_object(root, outlines);
    Some(root)
}
