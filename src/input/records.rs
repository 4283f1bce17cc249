//! Delimited text to records: byte-order mark, encoding, line ends, delimiter, bounded memory.
//!
//! One pass over the bytes. UTF-8 is taken as it is; a field that is not UTF-8 is read as
//! Windows-1252; UTF-16 is recognised by its byte-order mark. CRLF and lone CR become LF before the
//! text is split, so that line numbers are right whatever wrote the file.

use crate::faults::{Fault, Severity};
use std::cell::Cell;
use std::io::{self, Read};
use std::rc::Rc;

/// Longest record, bytes (judgement: a real row is a few hundred bytes). An unclosed quotation mark
/// or a file without line ends runs into this limit instead of eating the memory.
pub const MAX_RECORD_BYTES: usize = 1024 * 1024;

/// Bytes looked at to find the delimiter and the header.
const PEEK_BYTES: usize = 64 * 1024;
/// Lines in which the header is sought: spreadsheets often carry a title above it.
const HEADER_LINES: usize = 10;
const DELIMITERS: [u8; 4] = *b",;\t|";

/// One record of a table.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Record {
    /// One-based line on which it starts.
    pub line: u64,
    /// Its fields, trimmed of white space around them.
    pub fields: Vec<String>,
}

/// A table being read.
pub struct Records<'a> {
    file_name: String,
    header: Vec<String>,
    header_line: u64,
    delimiter: u8,
    windows_1252_fields: u64,
    reader: csv::Reader<Box<dyn Read + 'a>>,
    bytes: csv::ByteRecord,
    since: Rc<Cell<usize>>,
    over: Rc<Cell<bool>>,
    spent: bool,
}

impl<'a> Records<'a> {
    /// Opens a table and reads its header.
    ///
    /// `is_known` says whether a header cell, trimmed, names a column that the caller understands; it
    /// decides between delimiters and finds the header below a title line.
    ///
    /// # Errors
    /// `BW-I05` empty, `BW-I06` not text (with the kind, where it can be told), `BW-I07` first line too long, `BW-I03` unreadable.
    pub fn open(source: impl Read + 'a, file_name: &str, is_known: impl Fn(&str) -> bool) -> Result<Self, Fault> {
        let mut source: Box<dyn Read + 'a> = Box::new(source);
        let unreadable = |error: &io::Error| {
            Fault::new("BW-I03", Severity::Fatal, format!("the file cannot be read: {error}")).file(file_name)
        };
        let mut raw = Vec::new();
        source
            .by_ref()
            .take(PEEK_BYTES as u64)
            .read_to_end(&mut raw)
            .map_err(|error| unreadable(&error))?;
        let utf16 = match raw.as_slice() {
            [0xFF, 0xFE, ..] => Some(encoding_rs::UTF_16LE),
            [0xFE, 0xFF, ..] => Some(encoding_rs::UTF_16BE),
            _ => None,
        };
        if utf16.is_none() {
            not_text(&raw, file_name)?;
        }
        let skip = match raw.as_slice() {
            [0xEF, 0xBB, 0xBF, ..] => 3,
            _ => 0,
        };
        let whole: Box<dyn Read + 'a> = Box::new(io::Cursor::new(raw.split_off(skip)).chain(source));
        let text: Box<dyn Read + 'a> = match utf16 {
            Some(encoding) => Box::new(Transcode::new(whole, encoding)),
            None => whole,
        };
        let mut lines = LineEnds::new(text);
        let mut head = Vec::new();
        lines
            .by_ref()
            .take(PEEK_BYTES as u64)
            .read_to_end(&mut head)
            .map_err(|error| unreadable(&error))?;
        if head.iter().all(u8::is_ascii_whitespace) {
            return Err(Fault::new("BW-I05", Severity::Fatal, "the file is empty")
                .file(file_name)
                .expected("a header line and one line for each record")
                .remedy("Export it again, or check that it is the file you meant."));
        }
        let layout = Layout::find(&head, &is_known);
        let since = Rc::new(Cell::new(0));
        let over = Rc::new(Cell::new(false));
        let limited: Box<dyn Read + 'a> = Box::new(Limit {
            inner: Box::new(io::Cursor::new(head).chain(lines)),
            since: Rc::clone(&since),
            over: Rc::clone(&over),
        });
        let reader = csv::ReaderBuilder::new()
            .has_headers(false)
            .flexible(true)
            .delimiter(layout.delimiter)
            .buffer_capacity(PEEK_BYTES)
            .from_reader(limited);
        let mut records = Self {
            file_name: file_name.to_owned(),
            header: Vec::new(),
            header_line: 0,
            delimiter: layout.delimiter,
            windows_1252_fields: 0,
            reader,
            bytes: csv::ByteRecord::new(),
            since,
            over,
            spent: false,
        };
        let mut record = Record::default();
        for _ in 0..=layout.records_before_header {
            records.read(&mut record)?;
        }
        while record.fields.last().is_some_and(String::is_empty) {
            record.fields.pop();
        }
        records.header = record.fields;
        records.header_line = record.line;
        Ok(records)
    }

    /// Header cells, trimmed, without empty ones at the end.
    pub fn header(&self) -> &[String] {
        &self.header
    }

    /// One-based line of the header.
    pub fn header_line(&self) -> u64 {
        self.header_line
    }

    /// The delimiter in words.
    pub fn delimiter_word(&self) -> &'static str {
        match self.delimiter {
            b';' => "semicolons",
            b'\t' => "tabs",
            b'|' => "vertical bars",
            _ => "commas",
        }
    }

    /// Whether fields are separated by semicolons, as where the comma is the decimal mark.
    pub fn decimal_comma_likely(&self) -> bool {
        self.delimiter == b';'
    }

    /// How many fields so far were not UTF-8 and were read as Windows-1252.
    pub fn windows_1252_fields(&self) -> u64 {
        self.windows_1252_fields
    }

    /// Reads the next record into `record`, reusing its strings; `false` at the end. Blank lines are passed over.
    ///
    /// # Errors
    /// `BW-I07` when a record is longer than [`MAX_RECORD_BYTES`], `BW-I03` when the file becomes unreadable.
    /// After an error there is nothing more to read.
    pub fn read(&mut self, record: &mut Record) -> Result<bool, Fault> {
        loop {
            if self.spent {
                return Ok(false);
            }
            let started = self.reader.position().line();
            match self.reader.read_byte_record(&mut self.bytes) {
                Ok(true) => {}
                Ok(false) => {
                    self.spent = true;
                    return Ok(false);
                }
                Err(error) => {
                    self.spent = true;
                    return Err(self.broken(started, &error));
                }
            }
            self.since.set(0);
            let inner: usize = self
                .bytes
                .iter()
                .map(|field| field.iter().filter(|byte| **byte == b'\n').count())
                .sum();
            // The reader counts from before the blank lines it skips; count back from where it stands instead.
            record.line = self.reader.position().line().saturating_sub(1 + inner as u64).max(1);
            let n = self.bytes.len();
            record.fields.truncate(n);
            record.fields.resize_with(n, String::new);
            for (field, text) in self.bytes.iter().zip(record.fields.iter_mut()) {
                text.clear();
                match std::str::from_utf8(field) {
                    Ok(utf8) => text.push_str(utf8.trim()),
                    Err(_) => {
                        self.windows_1252_fields += 1;
                        let (decoded, _) = encoding_rs::WINDOWS_1252.decode_without_bom_handling(field);
                        text.push_str(decoded.trim());
                    }
                }
            }
            if record.fields.iter().any(|field| !field.is_empty()) {
                return Ok(true);
            }
        }
    }

    fn broken(&self, line: u64, error: &csv::Error) -> Fault {
        if self.over.get() {
            Fault::new("BW-I07", Severity::Fatal, "a record that starts here never ends")
                .file(self.file_name.clone())
                .line(line)
                .expected(format!("records of at most {} KiB", MAX_RECORD_BYTES / 1024))
                .remedy(
                    "Look for a quotation mark that is opened and not closed, or check that the file is a table with line ends.",
                )
        } else {
            Fault::new("BW-I03", Severity::Fatal, format!("the file cannot be read: {error}"))
                .file(self.file_name.clone())
                .line(line)
        }
    }
}

/// How the table is laid out, judged by its first bytes.
struct Layout {
    delimiter: u8,
    records_before_header: usize,
}

impl Layout {
    fn find(head: &[u8], is_known: &dyn Fn(&str) -> bool) -> Self {
        let mut best = (0usize, 0usize);
        let mut layout = Layout {
            delimiter: b',',
            records_before_header: 0,
        };
        for delimiter in DELIMITERS {
            let mut reader = csv::ReaderBuilder::new()
                .has_headers(false)
                .flexible(true)
                .delimiter(delimiter)
                .from_reader(head);
            for (at, record) in reader.byte_records().take(HEADER_LINES).flatten().enumerate() {
                let known = record
                    .iter()
                    .filter(|field| is_known(String::from_utf8_lossy(field).trim()))
                    .count();
                // A title above the header names no column; without any known name the first line is the header.
                let score = (known, if at == 0 { record.len() } else { 0 });
                if score > best {
                    best = score;
                    layout = Layout {
                        delimiter,
                        records_before_header: at,
                    };
                }
            }
        }
        layout
    }
}

/// Refuses what is plainly not text, naming the kind where it can be told.
fn not_text(raw: &[u8], file_name: &str) -> Result<(), Fault> {
    let kind = match raw {
        [b'P', b'K', 3, 4, ..] => Some("a spreadsheet workbook or a zip archive"),
        [0xD0, 0xCF, 0x11, 0xE0, ..] => Some("an old spreadsheet workbook"),
        [b'%', b'P', b'D', b'F', ..] => Some("a PDF document"),
        [0x1F, 0x8B, ..] => Some("a gzip archive"),
        _ if raw.iter().take(8192).any(|byte| *byte == 0) => Some("a binary file"),
        _ => None,
    };
    match kind {
        None => Ok(()),
        Some(kind) => Err(Fault::new(
            "BW-I06",
            Severity::Fatal,
            format!("this is {kind}, not a table in text"),
        )
        .file(file_name)
        .expected("comma-separated values")
        .remedy("Open it where it was made and save or export it as CSV.")),
    }
}

/// UTF-16 to UTF-8.
struct Transcode<'a> {
    inner: Box<dyn Read + 'a>,
    decoder: encoding_rs::Decoder,
    input: Vec<u8>,
    output: Vec<u8>,
    at: usize,
    ended: bool,
}

impl<'a> Transcode<'a> {
    fn new(inner: Box<dyn Read + 'a>, encoding: &'static encoding_rs::Encoding) -> Self {
        Self {
            inner,
            decoder: encoding.new_decoder_with_bom_removal(),
            input: vec![0; 16 * 1024],
            output: Vec::new(),
            at: 0,
            ended: false,
        }
    }
}

impl Read for Transcode<'_> {
    fn read(&mut self, out: &mut [u8]) -> io::Result<usize> {
        while self.at >= self.output.len() {
            if self.ended {
                return Ok(0);
            }
            let n = self.inner.read(&mut self.input)?;
            self.ended = n == 0;
            let source = self.input.get(..n).unwrap_or_default();
            let need = self.decoder.max_utf8_buffer_length(n).unwrap_or(n * 4 + 16);
            self.output.clear();
            self.output.resize(need, 0);
            let (_, _, written, _) = self.decoder.decode_to_utf8(source, &mut self.output, self.ended);
            self.output.truncate(written);
            self.at = 0;
        }
        let ready = self.output.get(self.at..).unwrap_or_default();
        let n = ready.len().min(out.len());
        out.iter_mut().zip(ready).for_each(|(to, from)| *to = *from);
        self.at += n;
        Ok(n)
    }
}

/// CRLF and lone CR to LF, and a line end after the last line.
struct LineEnds<R> {
    inner: R,
    after_cr: bool,
    last: u8,
    ended: bool,
}

impl<R: Read> LineEnds<R> {
    fn new(inner: R) -> Self {
        Self {
            inner,
            after_cr: false,
            last: b'\n',
            ended: false,
        }
    }
}

impl<R: Read> Read for LineEnds<R> {
    fn read(&mut self, out: &mut [u8]) -> io::Result<usize> {
        if out.is_empty() || self.ended {
            return Ok(0);
        }
        loop {
            let n = self.inner.read(out)?;
            if n == 0 {
                self.ended = true;
                if self.last == b'\n' {
                    return Ok(0);
                }
                if let Some(first) = out.first_mut() {
                    *first = b'\n';
                }
                return Ok(1);
            }
            let has_cr = self.after_cr || out.iter().take(n).any(|byte| *byte == b'\r');
            let mut kept = n;
            if has_cr {
                kept = 0;
                for at in 0..n {
                    let Some(&byte) = out.get(at) else { break };
                    let swallowed = byte == b'\n' && self.after_cr;
                    self.after_cr = byte == b'\r';
                    if swallowed {
                        continue;
                    }
                    if let Some(slot) = out.get_mut(kept) {
                        *slot = if byte == b'\r' { b'\n' } else { byte };
                        kept += 1;
                    }
                }
            }
            // A lone LF after a CR at the seam of two reads leaves nothing: read on, for 0 would mean the end.
            if kept > 0 {
                self.last = out.get(kept - 1).copied().unwrap_or(b'\n');
                return Ok(kept);
            }
        }
    }
}

/// Stops a record that never ends.
struct Limit<'a> {
    inner: Box<dyn Read + 'a>,
    since: Rc<Cell<usize>>,
    over: Rc<Cell<bool>>,
}

impl Read for Limit<'_> {
    fn read(&mut self, out: &mut [u8]) -> io::Result<usize> {
        if self.since.get() > MAX_RECORD_BYTES {
            self.over.set(true);
            return Err(io::Error::other("record too long"));
        }
        let n = self.inner.read(out)?;
        self.since.set(self.since.get() + n);
        Ok(n)
    }
}
