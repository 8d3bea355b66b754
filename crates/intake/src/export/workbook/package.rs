//! A zip archive, its parts as XML, and the limits on what they unpack to.
//!
//! What is unpacked is counted as it comes, over all parts that are read; what an archive says of itself is only
//! believed where it is too much. XML is read piece by piece, none longer than a limit. A declaration of a document
//! type is refused, so there are no entities but those of XML itself; nothing outside the archive is opened. Must not
//! know: sheets. Sources: ECMA-376-2 (packages, in whose XML document types are forbidden), OpenDocument 1.3
//! part 2; from memory.

use std::cell::Cell as Counter;
use std::collections::HashMap;
use std::io::{self, BufReader, Cursor, Read};

use quick_xml::events::{BytesRef, BytesStart, Event};
use quick_xml::{Reader, XmlVersion};
use zip::ZipArchive;
use zip::read::ZipFile;
use zip::result::ZipError;

use super::super::Kind;
use super::super::error::{ExportError, Place};
use super::super::kind::wrong;
use super::super::limits::{self, MAX_CELL_BYTES, MAX_PARTS, MAX_UNPACKED_BYTES, MAX_XML_PIECE_BYTES};
use crate::bad_row::shown;

/// How much is unpacked at once, in bytes.
const BUFFER_BYTES: usize = 32 << 10;

/// The media types of OpenDocument spreadsheets, and of their templates, begin so.
const ODS: &str = "application/vnd.oasis.opendocument.spreadsheet";

/// How much of the part that holds a media type is looked at, in bytes.
const MEDIA_TYPE_BYTES: u64 = 128;

const ENTITY: &str = "an entity that XML does not know";

/// An archive whose list of parts was read.
pub(super) struct Package<'f> {
    pub(super) file: &'f str,
    zip: ZipArchive<Cursor<Vec<u8>>>,
    /// The index of each part, by its name in small letters: names of parts are equal whatever their case.
    parts: HashMap<String, usize>,
    /// How many bytes may still be unpacked.
    left: Counter<u64>,
}

impl<'f> Package<'f> {
    /// Reads the list of parts.
    pub(super) fn open(file: &'f str, bytes: Vec<u8>) -> Result<Self, ExportError> {
        let zip = ZipArchive::new(Cursor::new(bytes)).map_err(|error| damaged(Place::file(file), &error))?;
        if zip.len() > MAX_PARTS {
            return Err(limits::over(
                Place::file(file),
                format!("the archive has {} parts", zip.len()),
                format!("{MAX_PARTS} parts at most, of which a workbook has some dozens"),
                "Save the list as CSV.",
            ));
        }
        let names = (0..zip.len()).filter_map(|index| {
            let name = zip.name_for_index(index)?.ok()?;
            Some((name.trim_start_matches('/').to_ascii_lowercase(), index))
        });
        let parts = names.collect();
        Ok(Self { file, zip, parts, left: Counter::new(MAX_UNPACKED_BYTES) })
    }

    /// What the archive is. Fails where it is no workbook that is read, or one with macros.
    pub(super) fn kind(&mut self) -> Result<Kind, ExportError> {
        let media_type = self.media_type();
        let kind = if media_type.starts_with(ODS) && self.has("content.xml") {
            Kind::Ods
        } else if self.parts.keys().any(|part| part.ends_with("workbook.bin")) {
            return Err(wrong(self.file, "a binary workbook (.xlsb)", "Save it as xlsx or CSV."));
        } else if self.has("[content_types].xml")
            && self.parts.keys().any(|part| part.ends_with("workbook.xml"))
        {
            Kind::Xlsx
        } else {
            return Err(self.another_kind(&media_type));
        };
        self.check_macros(kind)?;
        Ok(kind)
    }

    fn another_kind(&self, media_type: &str) -> ExportError {
        let has_folder = |folder: &str| self.parts.keys().any(|part| part.starts_with(folder));
        if media_type.starts_with("application/vnd.oasis.opendocument")
            || has_folder("word/")
            || has_folder("ppt/")
        {
            let hint = "Copy its table into a spreadsheet, and save that as xlsx or CSV.";
            return wrong(self.file, "a text document or a presentation", hint);
        }
        let mut names: Vec<&String> = self.parts.keys().filter(|part| !part.ends_with('/')).collect();
        names.sort_unstable();
        match names.as_slice() {
            [] => wrong(self.file, "a zip archive without files", "Export it again."),
            [one] => {
                let found = format!("a zip archive that holds {}", shown(one));
                wrong(self.file, &found, "Unpack it, and give the file that is in it.")
            }
            [first, others @ ..] => {
                let found = format!("a zip archive that holds {} and {} more", shown(first), others.len());
                wrong(self.file, &found, "Unpack it, and give one of the files that are in it.")
            }
        }
    }

    /// Fails where there are macros: a project in Visual Basic, macro sheets, or modules of OpenDocument's.
    fn check_macros(&mut self, kind: Kind) -> Result<(), ExportError> {
        let is_macro = |part: &str| {
            part.ends_with("vbaproject.bin")
                || part.contains("/macrosheets/")
                || kind == Kind::Ods
                    && (part.starts_with("scripts/") && !part.ends_with('/')
                        || part.starts_with("basic/")
                            && part.ends_with(".xml")
                            && !part.ends_with("/script-lc.xml")
                            && !part.ends_with("/script-lb.xml"))
        };
        let found = self.parts.keys().filter(|part| is_macro(part)).min().cloned();
        if let Some(part) = found {
            return Err(ExportError::Macros { file: self.file.to_owned(), part: shown(&part) });
        }
        if kind == Kind::Ods {
            return Ok(());
        }
        // The project itself may be missing where the workbook was made by hand.
        let file = self.file.to_owned();
        self.each_start("[Content_Types].xml", |start| {
            let content_type = attribute(start, None, "ContentType").unwrap_or_default();
            if content_type.to_ascii_lowercase().contains("macroenabled") {
                return Err(ExportError::Macros { file: file.clone(), part: "its type says so".to_owned() });
            }
            Ok(())
        })
    }

    /// What the part `mimetype` says, of which OpenDocument has one; else nothing.
    fn media_type(&mut self) -> String {
        let Some(index) = self.parts.get("mimetype").copied() else { return String::new() };
        let Ok(part) = self.zip.by_index(index) else { return String::new() };
        let mut bytes = Vec::new();
        match part.take(MEDIA_TYPE_BYTES).read_to_end(&mut bytes) {
            Ok(_) => String::from_utf8_lossy(&bytes).trim().to_owned(),
            Err(_) => String::new(),
        }
    }

    /// Whether there is a part of this name.
    pub(super) fn has(&self, part: &str) -> bool {
        self.parts.contains_key(&part.to_ascii_lowercase())
    }

    /// A part as XML.
    pub(super) fn xml<'p>(&'p mut self, part: &'p str) -> Result<Xml<'p>, ExportError> {
        let place = Place::part(self.file, part);
        let Some(index) = self.parts.get(&part.to_ascii_lowercase()).copied() else {
            return Err(broken(place, "the part is missing", "a whole workbook"));
        };
        let entry = self.zip.by_index(index).map_err(|error| damaged(place.clone(), &error))?;
        if entry.size() > self.left.get() {
            return Err(too_much_unpacked(place));
        }
        let source = Counted { entry, left: &self.left, piece: MAX_XML_PIECE_BYTES };
        let mut reader = Reader::from_reader(BufReader::with_capacity(BUFFER_BYTES, source));
        reader.config_mut().expand_empty_elements = true;
        Ok(Xml { file: self.file, part, reader, piece: Vec::new(), depth: 0 })
    }

    /// Calls back for every element of a part, as it begins.
    pub(super) fn each_start(
        &mut self,
        part: &str,
        mut on_start: impl FnMut(&BytesStart<'_>) -> Result<(), ExportError>,
    ) -> Result<(), ExportError> {
        let mut xml = self.xml(part)?;
        loop {
            match xml.next()? {
                Event::Start(start) => on_start(&start)?,
                Event::Eof => return Ok(()),
                _ => {}
            }
        }
    }
}

/// The error of an archive that cannot be unpacked.
fn damaged(place: Box<Place>, error: &ZipError) -> ExportError {
    let (found, hint) = match error {
        ZipError::UnsupportedArchive(what) if *what == ZipError::PASSWORD_REQUIRED => {
            ("it is under a password".to_owned(), "Save it without the password, as xlsx or CSV.")
        }
        ZipError::UnsupportedArchive(_) => {
            ("it is packed in a way that is not read".to_owned(), "Save it again in a spreadsheet program.")
        }
        _ => ("the archive is damaged or cut off".to_owned(), "Export it again."),
    };
    ExportError::Broken { place, found, expected: "a whole workbook".to_owned(), hint: hint.to_owned() }
}

/// The error of XML that is not as it has to be.
pub(super) fn broken(place: Box<Place>, found: &str, expected: &str) -> ExportError {
    ExportError::Broken {
        place,
        found: found.to_owned(),
        expected: expected.to_owned(),
        hint: "Export it again, or open it in a spreadsheet program and save it.".to_owned(),
    }
}

fn too_much_unpacked(place: Box<Place>) -> ExportError {
    limits::over(
        place,
        format!("the workbook unpacks to more than {} MB", MAX_UNPACKED_BYTES >> 20),
        "a workbook of an ordinary size".to_owned(),
        "Export fewer days at a time, or save it as CSV.",
    )
}

/// Counts what is unpacked.
struct Counted<'p> {
    entry: ZipFile<'p, Cursor<Vec<u8>>>,
    /// Of all parts together.
    left: &'p Counter<u64>,
    /// How much may be read for the piece of XML that is being read.
    piece: u64,
}

/// A limit that was passed while unpacking.
#[derive(Clone, Copy, PartialEq, Eq, Debug, thiserror::Error)]
enum Passed {
    #[error("too much unpacked")]
    Unpacked,
    #[error("too long a piece")]
    Piece,
}

impl Read for Counted<'_> {
    fn read(&mut self, buffer: &mut [u8]) -> io::Result<usize> {
        let read = self.entry.read(buffer)? as u64;
        let left = self.left.get().checked_sub(read).ok_or_else(|| io::Error::other(Passed::Unpacked))?;
        self.left.set(left);
        self.piece = self.piece.checked_sub(read).ok_or_else(|| io::Error::other(Passed::Piece))?;
        Ok(read as usize)
    }
}

/// A part, piece by piece.
pub(super) struct Xml<'p> {
    file: &'p str,
    part: &'p str,
    reader: Reader<BufReader<Counted<'p>>>,
    piece: Vec<u8>,
    /// How many elements are open.
    depth: usize,
}

impl Xml<'_> {
    /// The next piece. An empty element begins and ends. At the end of the part all elements are closed.
    pub(super) fn next(&mut self) -> Result<Event<'_>, ExportError> {
        self.piece.clear();
        // What lies in the buffer is counted already.
        self.reader.get_mut().get_mut().piece = MAX_XML_PIECE_BYTES;
        let place = || Place::part(self.file, self.part);
        match self.reader.read_event_into(&mut self.piece) {
            Ok(Event::DocType(_)) => Err(broken(
                place(),
                "it declares a document type, with which entities come",
                "XML without one, as the standards of workbooks have it",
            )),
            Ok(Event::Eof) if self.depth > 0 => Err(cut_off(place())),
            Ok(event) => {
                match &event {
                    Event::Start(_) => self.depth += 1,
                    Event::End(_) => self.depth = self.depth.saturating_sub(1),
                    _ => {}
                }
                Ok(event)
            }
            Err(error) => Err(xml_error(place(), &error)),
        }
    }

    /// The place of this part.
    pub(super) fn place(&self) -> Box<Place> {
        Place::part(self.file, self.part)
    }

    /// Passes over the rest of the element that has just begun.
    pub(super) fn skip(&mut self) -> Result<(), ExportError> {
        let outside = self.depth.saturating_sub(1);
        while self.depth > outside {
            self.next()?;
        }
        Ok(())
    }

    /// Appends the text that stands in the element that has just begun, but for that of elements in it, and ends with
    /// it.
    pub(super) fn text(&mut self, into: &mut String) -> Result<(), ExportError> {
        let outside = self.depth.saturating_sub(1);
        loop {
            let inside = self.depth == outside + 1;
            let is_known = match self.next()? {
                Event::End(_) if inside => return Ok(()),
                Event::Eof => return Err(cut_off(self.place())),
                event if inside => push_text(&event, into),
                _ => true,
            };
            self.check_text(is_known, into)?;
        }
    }

    /// Fails where an entity is not known, or the text is longer than a cell may be.
    pub(super) fn check_text(&self, is_known: bool, text: &str) -> Result<(), ExportError> {
        if !is_known {
            return Err(broken(self.place(), ENTITY, "XML without declared entities"));
        }
        if text.len() > MAX_CELL_BYTES {
            return Err(limits::long_cell(self.place(), "Shorten it."));
        }
        Ok(())
    }

    /// How many elements are open.
    pub(super) fn depth(&self) -> usize {
        self.depth
    }
}

/// The error where a part ends too early.
pub(super) fn cut_off(place: Box<Place>) -> ExportError {
    broken(place, "the XML ends in the middle", "a whole workbook")
}

/// Appends what a piece adds to a text. False where it is an entity that is not known.
pub(super) fn push_text(event: &Event<'_>, into: &mut String) -> bool {
    match event {
        Event::Text(text) => into.push_str(&text.xml10_content()),
        Event::CData(text) => into.push_str(&text.xml10_content()),
        Event::GeneralRef(reference) => match resolved(reference) {
            Some(Resolved::Character(character)) => into.push(character),
            Some(Resolved::Text(text)) => into.push_str(text),
            None => return false,
        },
        _ => {}
    }
    true
}

enum Resolved {
    Character(char),
    Text(&'static str),
}

/// The entities of XML itself, and characters by number.
fn resolved(reference: &BytesRef<'_>) -> Option<Resolved> {
    if reference.is_char_ref() {
        return reference.resolve_char_ref().ok().flatten().map(Resolved::Character);
    }
    quick_xml::escape::resolve_xml_entity(&reference.xml10_content()).map(Resolved::Text)
}

fn xml_error(place: Box<Place>, error: &quick_xml::Error) -> ExportError {
    if let quick_xml::Error::Io(error) = error {
        return match error.get_ref().and_then(|inner| inner.downcast_ref::<Passed>()) {
            Some(Passed::Unpacked) => too_much_unpacked(place),
            Some(Passed::Piece) => limits::over(
                place,
                "a cell or another piece is longer than any cell may be".to_owned(),
                format!("{} MB at most in a cell", MAX_CELL_BYTES >> 20),
                "Shorten it.",
            ),
            None => broken(place, "what is packed is damaged", "a whole workbook"),
        };
    }
    broken(place, "this is not well-formed XML in UTF-8", "a whole workbook")
}

/// An attribute of an element by its name without prefix, and by its prefix where one is given. None where there is
/// none, or it holds an entity that is not known.
pub(super) fn attribute(start: &BytesStart<'_>, prefix: Option<&str>, name: &str) -> Option<String> {
    let found = start.attributes().with_checks(false).flatten().find(|attribute| {
        let key: &str = attribute.key.as_ref();
        let (in_front, local) =
            key.split_once(':').map_or((None, key), |(front, local)| (Some(front), local));
        local == name && (prefix.is_none() || in_front == prefix)
    })?;
    found.normalized_value(XmlVersion::Implicit1_0).ok().map(|value| value.into_owned())
}
