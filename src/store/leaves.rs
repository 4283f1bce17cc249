//! Reading rows from the pages of a database file whose index of pages is lost.
//!
//! Source: sqlite.org, "Database File Format" (sections 1.6 b-tree pages, 2.1 record format) and "WAL-mode File Format" (section 4).
//! Every leaf page of a table says by itself what rows it holds; neither the header of the file nor the tree above it is needed.
//! A page that is not what it seems gives rows of another shape, which the caller refuses.

use std::collections::HashMap;

/// Size of a page that is tried when the header does not tell: what SQLite makes since 3.12, and what this program has always had.
const USUAL_PAGE: usize = 4096;
/// First byte of a leaf page of a table.
const LEAF: u8 = 13;
/// Length of the file's header, on the first page only.
const HEADER: usize = 100;
/// Length of the header of a write-ahead log and of each of its frames.
const WAL_HEADER: usize = 32;
const FRAME_HEADER: usize = 24;
/// Longest row that is read, bytes: texts of a few thousand characters.
const LONGEST: u64 = 200_000;

/// A cell.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) enum Cell {
    Null,
    Whole(i64),
    Text(String),
    Other,
}

impl Cell {
    pub(super) fn text(&self) -> Option<&str> {
        match self {
            Cell::Text(text) => Some(text),
            _ => None,
        }
    }

    pub(super) fn whole(&self) -> Option<i64> {
        match self {
            Cell::Whole(number) => Some(*number),
            _ => None,
        }
    }
}

/// A row: its number and its cells.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Row {
    pub(super) id: i64,
    pub(super) cells: Vec<Cell>,
}

/// All rows of all leaf pages of tables, in the file and in the write-ahead log beside it; the same row may come more than once.
pub(super) fn rows(file: &[u8], wal: &[u8]) -> Vec<Row> {
    let size = page_size(file);
    let mut images: Vec<(usize, &[u8])> = file
        .chunks_exact(size)
        .enumerate()
        .map(|(at, page)| (at + 1, page))
        .collect();
    images.extend(frames(wal, size));
    // A chain of overflow pages is followed through the latest image of each page.
    let latest: HashMap<usize, &[u8]> = images.iter().copied().collect();
    images
        .iter()
        .flat_map(|(number, page)| {
            let start = if *number == 1 { HEADER } else { 0 };
            leaf(page, start, &latest)
        })
        .collect()
}

fn page_size(file: &[u8]) -> usize {
    let told = match be(file, 16, 2) {
        Some(1) => 65_536,
        Some(size) => size as usize,
        None => 0,
    };
    let whole = file.starts_with(b"SQLite format 3\0") && told.is_power_of_two() && (512..=65_536).contains(&told);
    if whole { told } else { USUAL_PAGE }
}

/// Pages in the frames of a write-ahead log.
fn frames(wal: &[u8], size: usize) -> impl Iterator<Item = (usize, &[u8])> {
    let body = wal.get(WAL_HEADER..).unwrap_or(&[]);
    body.chunks_exact(FRAME_HEADER + size).filter_map(|frame| {
        let number = be(frame, 0, 4)?;
        Some((usize::try_from(number).ok()?, frame.get(FRAME_HEADER..)?))
    })
}

/// A big-endian number of so many bytes.
fn be(bytes: &[u8], at: usize, length: usize) -> Option<u64> {
    let part = bytes.get(at..at.checked_add(length)?)?;
    Some(part.iter().fold(0, |sum, byte| sum << 8 | u64::from(*byte)))
}

/// A number of variable length, and where it ends.
fn varint(bytes: &[u8], at: usize) -> Option<(u64, usize)> {
    let mut value = 0u64;
    for nth in 0..9 {
        let byte = *bytes.get(at + nth)?;
        if nth == 8 {
            return Some((value << 8 | u64::from(byte), at + 9));
        }
        value = value << 7 | u64::from(byte & 0x7f);
        if byte < 0x80 {
            return Some((value, at + nth + 1));
        }
    }
    None
}

fn leaf(page: &[u8], start: usize, pages: &HashMap<usize, &[u8]>) -> Vec<Row> {
    if page.get(start) != Some(&LEAF) {
        return Vec::new();
    }
    let count = be(page, start + 3, 2).unwrap_or(0) as usize;
    (0..count)
        .filter_map(|nth| be(page, start + 8 + 2 * nth, 2))
        .filter_map(|at| row(page, at as usize, pages))
        .collect()
}

fn row(page: &[u8], at: usize, pages: &HashMap<usize, &[u8]>) -> Option<Row> {
    let (length, at) = varint(page, at)?;
    let (id, at) = varint(page, at)?;
    if length > LONGEST {
        return None;
    }
    let payload = payload(page, at, length as usize, pages)?;
    Some(Row {
        id: id as i64,
        cells: record(&payload)?,
    })
}

/// The bytes of a row: what stands on the page, then the chain of overflow pages (format, section 1.6).
fn payload(page: &[u8], at: usize, length: usize, pages: &HashMap<usize, &[u8]>) -> Option<Vec<u8>> {
    let usable = page.len();
    let most = usable - 35;
    if length <= most {
        return page.get(at..at.checked_add(length)?).map(<[u8]>::to_vec);
    }
    let least = (usable - 12) * 32 / 255 - 23;
    let wanted = least + (length - least) % (usable - 4);
    let here = if wanted <= most { wanted } else { least };
    let mut bytes = page.get(at..at.checked_add(here)?)?.to_vec();
    let mut next = be(page, at + here, 4)? as usize;
    while bytes.len() < length {
        let overflow = pages.get(&next)?;
        next = be(overflow, 0, 4)? as usize;
        let rest = (length - bytes.len()).min(overflow.len() - 4);
        bytes.extend_from_slice(overflow.get(4..4 + rest)?);
    }
    Some(bytes)
}

/// The cells of a record (format, section 2.1).
fn record(payload: &[u8]) -> Option<Vec<Cell>> {
    let (header, mut at) = varint(payload, 0)?;
    let header = usize::try_from(header).ok()?;
    let mut body = header;
    let mut cells = Vec::new();
    while at < header {
        let (kind, after) = varint(payload, at)?;
        at = after;
        let length = match kind {
            0 | 8 | 9 => 0,
            1..=4 => kind as usize,
            5 => 6,
            6 | 7 => 8,
            12.. => usize::try_from((kind - 12) / 2).ok()?,
            _ => return None,
        };
        let part = payload.get(body..body.checked_add(length)?)?;
        body += length;
        cells.push(match kind {
            0 => Cell::Null,
            8 => Cell::Whole(0),
            9 => Cell::Whole(1),
            1..=6 => {
                let unsigned = be(part, 0, length)?;
                // The sign stands in the first bit of however many bytes there are.
                let shift = 64 - 8 * length as u32;
                Cell::Whole((unsigned << shift) as i64 >> shift)
            }
            13.. if kind % 2 == 1 => Cell::Text(std::str::from_utf8(part).ok()?.to_owned()),
            _ => Cell::Other,
        });
    }
    Some(cells)
}
