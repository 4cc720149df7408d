//! The file's bytes: object streams packed a few at a time, so that the structure of thousands of sheets is never there at once.
//! The bytes are those that `lopdf` writes by `save_with_options`, which holds every object twice.

use lopdf::{Object, ObjectStream, Stream, dictionary};
use rayon::prelude::*;

use crate::page::pdf::RenderError;
use crate::page::pdf::structure::Tree;
use crate::page::pdf::write::failed;

/// Objects of one object stream.
const OF_A_STREAM: usize = 100;
/// Object streams that are packed side by side.
const AT_A_TIME: usize = 16;

/// Where an object stands.
#[derive(Clone, Copy)]
enum Place {
    At(u32),
    In(u32, u16),
}

struct Output {
    bytes: Vec<u8>,
    /// By the number of the object.
    places: Vec<Option<Place>>,
}

impl Output {
    fn keep(&mut self, id: u32, place: Place) {
        let id = id as usize;
        if self.places.len() <= id {
            self.places.resize(id + 1, None);
        }
        if let Some(slot) = self.places.get_mut(id) {
            *slot = Some(place);
        }
    }

    fn at(&self) -> u32 {
        u32::try_from(self.bytes.len()).unwrap_or(u32::MAX)
    }

    fn stream(&mut self, id: u32, stream: Stream) -> Result<(), RenderError> {
        self.keep(id, Place::At(self.at()));
        self.bytes.extend(format!("{id} 0 obj\n").bytes());
        self.bytes.extend(in_bytes(Object::Dictionary(stream.dict))?);
        self.bytes.extend(b"stream\n");
        self.bytes.extend(stream.content);
        self.bytes.extend(b"\nendstream \nendobj\n");
        Ok(())
    }
}

/// An object as it stands in a file.
fn in_bytes(object: Object) -> Result<Vec<u8>, RenderError> {
    let mut alone = ObjectStream::builder().build();
    alone.add_object((1, 0), object).map_err(failed)?;
    // Behind its number and where it begins, and before the blank that ends it.
    let bytes = alone.build_stream_content().map_err(failed)?;
    Ok(bytes.strip_prefix(b"1 0 ").and_then(|bytes| bytes.strip_suffix(b" ")).unwrap_or_default().to_vec())
}

/// Packs some objects.
fn packed(ids: &[u32], objects: &[Object], tree: &Tree<'_>) -> Result<Stream, RenderError> {
    let mut objects = objects.iter();
    // As `save_with_options` leaves them by itself; packed, a report is a third to a half smaller.
    let mut stream = ObjectStream::builder().max_objects(OF_A_STREAM).compression_level(0).build();
    for id in ids {
        let Some(object) = tree.object(*id).or_else(|| objects.next().cloned()) else { continue };
        stream.add_object((*id, 0), object).map_err(failed)?;
    }
    stream.to_stream_object().map_err(failed)
}

/// The bytes of a file, and of the objects of its tree that are made as they are written.
pub fn save(mut file: lopdf::Document, tree: &Tree<'_>) -> Result<Vec<u8>, RenderError> {
    let mut out = Output { bytes: Vec::new(), places: Vec::new() };
    out.bytes.extend(format!("%PDF-{}\n%", file.version).bytes());
    out.bytes.extend(&file.binary_mark);
    out.bytes.push(b'\n');
    let mut kept: Vec<(u32, Object)> = Vec::new();
    for ((id, _), object) in std::mem::take(&mut file.objects) {
        match object {
            Object::Stream(stream) => out.stream(id, stream)?,
            object => kept.push((id, object)),
        }
    }
    let mut ids: Vec<u32> = kept.iter().map(|(id, _)| *id).chain(tree.ids()).collect();
    ids.sort_unstable();
    let mut kept = kept.into_iter().map(|(_, object)| object);
    let mut next = file.max_id;
    for some in ids.chunks(OF_A_STREAM * AT_A_TIME) {
        let chunks: Vec<(&[u32], Vec<Object>)> = some
            .chunks(OF_A_STREAM)
            .map(|ids| (ids, kept.by_ref().take(ids.iter().filter(|id| !tree.has(**id)).count()).collect()))
            .collect();
        let streams: Vec<_> = chunks.par_iter().map(|(ids, objects)| packed(ids, objects, tree)).collect();
        for ((ids, _), stream) in chunks.iter().zip(streams) {
            next += 1;
            for (id, index) in ids.iter().zip(0..) {
                out.keep(*id, Place::In(next, index));
            }
            out.stream(next, stream?)?;
        }
    }
    let (starts, own) = (out.at(), next + 1);
    out.keep(own, Place::At(starts));
    let table = table(&out.places);
    for (key, value) in [
        ("Type", Object::Name(b"XRef".to_vec())),
        ("Size", i64::from(own + 1).into()),
        ("W", vec![1.into(), 4.into(), 2.into()].into()),
        ("Index", index(&out.places).into()),
    ] {
        file.trailer.set(key, value);
    }
    file.trailer.set("Length", i64::try_from(table.len()).unwrap_or(i64::MAX));
    let mut stream = Stream::new(dictionary! {}, table);
    stream.dict = file.trailer;
    out.stream(own, stream)?;
    out.bytes.extend(format!("\nstartxref\n{starts}\n%%EOF").bytes());
    Ok(out.bytes)
}

/// For each stretch of numbers that objects have its first, and how many.
fn index(places: &[Option<Place>]) -> Vec<Object> {
    let mut stretches: Vec<(i64, i64)> = Vec::new();
    for (id, _) in (0..).zip(places).filter(|(_, place)| place.is_some()) {
        match stretches.last_mut() {
            Some((first, count)) if *first + *count == id => *count += 1,
            _ => stretches.push((id, 1)),
        }
    }
    stretches.into_iter().flat_map(|(first, count)| [first.into(), count.into()]).collect()
}

/// Where each object stands: a byte for how, four for where, two for its place in an object stream.
fn table(places: &[Option<Place>]) -> Vec<u8> {
    let mut bytes = Vec::with_capacity(7 * places.len());
    for place in places.iter().flatten() {
        let (how, at, within) = match place {
            Place::At(at) => (1, *at, 0),
            Place::In(stream, within) => (2, *stream, *within),
        };
        bytes.push(how);
        bytes.extend(at.to_be_bytes());
        bytes.extend(within.to_be_bytes());
    }
    bytes
}
