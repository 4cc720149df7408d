//! The structure tree, so that a reader who listens hears headings, tables and figures; and links.

use std::collections::BTreeMap;
use std::ops::Range;

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

/// The tree. Its elements, and the elements of each sheet's marks, are made when they are asked for: there are hundreds of thousands.
pub struct Tree<'a> {
    /// Its root.
    pub root: ObjectId,
    record: &'a Record,
    pages: Vec<ObjectId>,
    links: Vec<ObjectId>,
    /// The numbers of the elements.
    elements: Range<u32>,
    /// The numbers of the sheets' lists of elements.
    owners: Range<u32>,
}

impl Tree<'_> {
    fn element(&self, index: usize) -> Option<ObjectId> {
        let number = u32::try_from(index).ok()?.checked_add(self.elements.start)?;
        self.elements.contains(&number).then_some((number, 0))
    }

    /// The numbers of all objects that are made when they are asked for.
    pub fn ids(&self) -> impl Iterator<Item = u32> {
        self.elements.clone().chain(self.owners.clone())
    }

    /// Whether an object of this number is one of them.
    pub fn has(&self, number: u32) -> bool {
        self.elements.contains(&number) || self.owners.contains(&number)
    }

    /// The object of a number, if it is one of them.
    pub fn object(&self, number: u32) -> Option<Object> {
        if self.elements.contains(&number) {
            let element = self.record.elements.get((number - self.elements.start) as usize)?;
            return Some(self.dict(element).into());
        }
        let sheet = number.checked_sub(self.owners.start).filter(|_| self.owners.contains(&number))?;
        let marks = &self.record.sheets.get(sheet as usize)?.marks;
        let owners = marks.iter().map(|(element, _)| self.element(*element).map_or(Object::Null, Object::from));
        Some(Object::Array(owners.collect()))
    }

    fn dict(&self, element: &Element) -> Dictionary {
        let (record, pages, links) = (self.record, &self.pages, &self.links);
        let parent = element.parent.and_then(|parent| self.element(parent)).unwrap_or(self.root);
        // Marks that all lie on one sheet are numbers, and the sheet is said once: most elements are the cell of a table.
        let sheets =
            element.kids.iter().filter_map(|kid| if let Kid::Mark(sheet, _) = kid { Some(*sheet) } else { None });
        let sheet = element.bounds.map(|(sheet, _)| sheet).or_else(|| sheets.clone().next());
        let page = sheet.filter(|sheet| sheets.clone().all(|other| other == *sheet)).and_then(|sheet| pages.get(sheet));
        let mut kids: Vec<Object> = element
            .kids
            .iter()
            .filter_map(|kid| match kid {
                Kid::Element(index) => self.element(*index).map(Object::from),
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
}

/// Numbers for so many objects.
fn numbers(count: usize, file: &mut lopdf::Document) -> Range<u32> {
    let first = file.max_id + 1;
    (0..count).for_each(|_| _ = file.new_object_id());
    first..file.max_id + 1
}

/// Writes the tree and the links.
pub fn write<'a>(
    record: &'a Record,
    pages: Vec<ObjectId>,
    file: &mut lopdf::Document,
) -> Result<Tree<'a>, lopdf::Error> {
    let root = file.new_object_id();
    let elements = numbers(record.elements.len(), file);
    let links: Vec<ObjectId> = record.links.iter().map(|_| file.new_object_id()).collect();
    let owners = numbers(record.sheets.len().min(pages.len()), file);
    // The way back: for each page the elements of its marks, for each link its element.
    let mut numbers: Vec<Object> = Vec::new();
    for (owners, page) in owners.clone().zip(&pages) {
        let key = numbers.len() / 2;
        numbers.push(whole(key).into());
        numbers.push((owners, 0).into());
        let page = file.get_dictionary_mut(*page)?;
        page.set("StructParents", whole(key));
        page.set("Tabs", Object::Name(b"S".to_vec()));
    }
    let tree = Tree { root, record, pages, links, elements, owners };
    let (pages, links) = (&tree.pages, &tree.links);
    let mut by_page: BTreeMap<usize, Vec<Object>> = BTreeMap::new();
    for (link, id) in record.links.iter().zip(links) {
        let key = numbers.len() / 2;
        numbers.push(whole(key).into());
        numbers.push(tree.element(link.element).map_or(Object::Null, Object::from));
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
    let document = tree.element(0).map_or(Object::Null, Object::from);
    file.set_object(
        root,
        dictionary! {
            "Type" => "StructTreeRoot",
            "K" => vec![document],
            "ParentTree" => parents,
            "ParentTreeNextKey" => next,
        },
    );
    Ok(tree)
}
