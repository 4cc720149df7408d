//! The structure tree, so that a reader who listens hears headings, tables and figures; and links.

use std::collections::BTreeMap;

use lopdf::{Dictionary, Object, ObjectId, dictionary};

use crate::page::pdf::record::{Element, Kid, Record};
use crate::page::pdf::write::{destination, text};

fn whole(value: usize) -> i64 {
    i64::try_from(value).unwrap_or(i64::MAX)
}

fn rect(record: &Record, area: crate::page::draw::Area) -> Object {
    let round = |v: f32| Object::Real((v * 100.0).round() / 100.0);
    Object::Array(vec![
        round(area.x),
        round(record.height - area.bottom()),
        round(area.right()),
        round(record.height - area.y),
    ])
}

/// Writes the tree and the links; returns the root of the tree.
pub fn write(record: &Record, pages: &[ObjectId], file: &mut lopdf::Document) -> Result<ObjectId, lopdf::Error> {
    let root = file.new_object_id();
    let ids: Vec<ObjectId> = record.elements.iter().map(|_| file.new_object_id()).collect();
    let links: Vec<ObjectId> = record.links.iter().map(|_| file.new_object_id()).collect();
    for (element, id) in record.elements.iter().zip(&ids) {
        let dict = element_dict(record, element, root, &ids, &links, pages);
        file.set_object(*id, dict);
    }
    // The way back: for each page the elements of its marks, for each link its element.
    let mut numbers: Vec<Object> = Vec::new();
    for (sheet, page) in record.sheets.iter().zip(pages) {
        let key = numbers.len() / 2;
        let owners: Vec<Object> =
            sheet.marks.iter().map(|(element, _)| ids.get(*element).map_or(Object::Null, |id| (*id).into())).collect();
        let owners = file.add_object(Object::Array(owners));
        numbers.push(whole(key).into());
        numbers.push(owners.into());
        let page = file.get_dictionary_mut(*page)?;
        page.set("StructParents", whole(key));
        page.set("Tabs", Object::Name(b"S".to_vec()));
    }
    let mut by_page: BTreeMap<usize, Vec<Object>> = BTreeMap::new();
    for (link, id) in record.links.iter().zip(&links) {
        let key = numbers.len() / 2;
        numbers.push(whole(key).into());
        numbers.push(ids.get(link.element).map_or(Object::Null, |id| (*id).into()));
        let mut annotation = dictionary! {
            "Type" => "Annot",
            "Subtype" => "Link",
            "Rect" => rect(record, link.area),
            "Border" => vec![0.into(), 0.into(), 0.into()],
            "StructParent" => whole(key),
            "Contents" => text(&format!("to {}", link.anchor)),
            "F" => 4,
        };
        if let Some((sheet, y)) = record.anchors.get(&link.anchor)
            && let Some(page) = pages.get(*sheet)
        {
            annotation.set("Dest", destination(*page, record.height - y + 6.0));
        }
        file.set_object(*id, annotation);
        by_page.entry(link.sheet).or_default().push((*id).into());
    }
    for (sheet, annotations) in by_page {
        if let Some(page) = pages.get(sheet) {
            file.get_dictionary_mut(*page)?.set("Annots", Object::Array(annotations));
        }
    }
    let next = whole(numbers.len() / 2);
    let parents = file.add_object(dictionary! { "Nums" => numbers });
    let document = ids.first().map_or(Object::Null, |id| (*id).into());
    file.set_object(
        root,
        dictionary! {
            "Type" => "StructTreeRoot",
            "K" => vec![document],
            "ParentTree" => parents,
            "ParentTreeNextKey" => next,
        },
    );
    Ok(root)
}

fn element_dict(
    record: &Record,
    element: &Element,
    root: ObjectId,
    ids: &[ObjectId],
    links: &[ObjectId],
    pages: &[ObjectId],
) -> Dictionary {
    let parent = element.parent.and_then(|parent| ids.get(parent).copied()).unwrap_or(root);
    // Marks that all lie on one sheet are numbers, and the sheet is said once: most elements are the cell of a table.
    let sheets = element.kids.iter().filter_map(|kid| if let Kid::Mark(sheet, _) = kid { Some(*sheet) } else { None });
    let sheet = element.bounds.map(|(sheet, _)| sheet).or_else(|| sheets.clone().next());
    let page = sheet.filter(|sheet| sheets.clone().all(|other| other == *sheet)).and_then(|sheet| pages.get(sheet));
    let mut kids: Vec<Object> = element
        .kids
        .iter()
        .filter_map(|kid| match kid {
            Kid::Element(index) => ids.get(*index).map(|id| Object::from(*id)),
            Kid::Mark(_, number) if page.is_some() => Some(whole(*number).into()),
            Kid::Mark(sheet, number) => {
                let page = pages.get(*sheet)?;
                Some(Object::Dictionary(dictionary! {
                    "Type" => "MCR",
                    "Pg" => *page,
                    "MCID" => whole(*number),
                }))
            }
            Kid::Link(number) => {
                let page = pages.get(record.links.get(*number)?.sheet)?;
                let annotation = links.get(*number)?;
                Some(Object::Dictionary(dictionary! {
                    "Type" => "OBJR",
                    "Pg" => *page,
                    "Obj" => *annotation,
                }))
            }
        })
        .collect();
    let mut dict = dictionary! {
        "S" => Object::Name(element.tag.as_bytes().to_vec()),
        "P" => parent,
    };
    match kids.pop() {
        Some(only) if kids.is_empty() => dict.set("K", only),
        Some(last) => {
            kids.push(last);
            dict.set("K", kids);
        }
        None => {}
    }
    if let Some(page) = page {
        dict.set("Pg", *page);
    }
    if let Some(alt) = &element.alt {
        dict.set("Alt", text(alt));
    }
    if let Some(scope) = element.scope {
        dict.set("A", dictionary! { "O" => "Table", "Scope" => Object::Name(scope.as_bytes().to_vec()) });
    }
    if let Some((sheet, area)) = element.bounds {
        dict.set("A", dictionary! { "O" => "Layout", "BBox" => rect(record, area) });
        if let Some(page) = pages.get(sheet) {
            dict.set("Pg", *page);
        }
    }
    dict
}
