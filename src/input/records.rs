//! Delimited text to records: byte-order mark, encoding, line ends, delimiter, bounded memory.
//!
//! One pass over the bytes. UTF-8 is taken as it is; a field that is not UTF-8 is read as
//! Windows-1252; UTF-16 is recognised by its byte-order mark. CRLF and lone CR become LF before the
//! text is split, so that line numbers are right whatever wrote the file.

use crate::faults::{Fault, Faults, Severity};
use std::collections::VecDeque;
use std::io::{self, BufRead, Read};

/// Longest record, bytes (judgement: a real row is a few hundred bytes). A file without line ends runs into this limit instead of
/// eating the memory.
pub const MAX_RECORD_BYTES: usize = 1024 * 1024;

/// Lines over which a quoted cell may go (judgement: a note of a few lines; more are rows that a stray mark swallows).
const MOST_LINES_OF_A_RECORD: usize = 30;

/// Bytes looked at to find the delimiter and the header.
const PEEK_BYTES: usize = 64 * 1024;
/// Lines in which the header is sought: spreadsheets often carry a title above it.
const HEADER_LINES: usize = 40;
const DELIMITERS: [u8; 4] = *b",;\t|";

/// One record of a table.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Record {
    /// One-based line on which it starts.
    pub line: u64,
    /// Its fields, trimmed of white space around them.
    pub fields: Vec<String>,
}

impl Record {
    /// Whether the record is the header once more, with or without empty cells behind it.
    pub fn repeats(&self, header: &[String]) -> bool {
        self.fields.starts_with(header) && self.fields.iter().skip(header.len()).all(String::is_empty)
    }
}

/// What became of the lines of a table.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Ledger {
    /// Lines read.
    pub lines: u64,
    /// Lines without any cell filled.
    pub blank: u64,
    /// Lines above and of the header.
    pub header: u64,
    /// Lines that went into records; a record with a line break in a cell takes several.
    pub in_records: u64,
    /// Records given out.
    pub records: u64,
}

impl Ledger {
    /// Whether every line is accounted for.
    pub fn balances(&self) -> bool {
        self.lines == self.blank + self.header + self.in_records
    }
}

/// A table being read.
pub struct Records<'a> {
    file_name: String,
    header: Vec<String>,
    header_line: u64,
    delimiter: u8,
    windows_1252_fields: u64,
    lines: Lines<'a>,
    line: Vec<u8>,
    cells: Vec<Vec<u8>>,
    ledger: Ledger,
    tell_long: bool,
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
            _ => utf16_without_mark(&raw),
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
        let mut ends = LineEnds::new(text);
        let mut head = Vec::new();
        ends.by_ref()
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
        let mut records = Self {
            file_name: file_name.to_owned(),
            header: Vec::new(),
            header_line: 0,
            delimiter: layout.delimiter,
            windows_1252_fields: 0,
            lines: Lines::new(io::Cursor::new(head).chain(ends)),
            line: Vec::new(),
            cells: Vec::new(),
            ledger: Ledger::default(),
            tell_long: true,
            spent: false,
        };
        let mut record = Record::default();
        // A stray mark above the rows is no row's fault: what stands in the header is told by the names that are missing.
        let mut told = Faults::new();
        for _ in 0..=layout.records_before_header {
            records.read(&mut record, &mut told)?;
        }
        while record.fields.last().is_some_and(String::is_empty) {
            record.fields.pop();
        }
        records.header = record.fields;
        records.header_line = record.line;
        records.ledger.header = std::mem::take(&mut records.ledger.in_records);
        records.ledger.records = 0;
        Ok(records)
    }

    /// Leaves rows with more cells than the header to the caller.
    pub fn long_rows_are_mine(mut self) -> Self {
        self.tell_long = false;
        self
    }

    /// What became of the lines so far.
    pub fn ledger(&self) -> Ledger {
        self.ledger
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
    /// A quotation mark that opens a cell and closes it some lines on makes one record, unless what lies between looks like rows of the
    /// table: then the mark is a stray one, its line is read without it, and the lines after are read as rows of their own.
    ///
    /// Faults: `BW-I08` a stray quotation mark, `BW-I09` fewer cells than the header, `BW-I10` more (warnings, with the line).
    ///
    /// # Errors
    /// `BW-I07` when a line is longer than [`MAX_RECORD_BYTES`], `BW-I03` when the file becomes unreadable.
    /// After an error there is nothing more to read.
    pub fn read(&mut self, record: &mut Record, faults: &mut Faults) -> Result<bool, Fault> {
        loop {
            if self.spent {
                return Ok(false);
            }
            let started = self.lines.next + 1;
            match self.next_cells(faults) {
                Ok(0) => {
                    self.spent = true;
                    debug_assert!(self.ledger.balances(), "{:?}", self.ledger);
                    return Ok(false);
                }
                Ok(lines) => {
                    record.line = started;
                    self.decode(record);
                    self.ledger.lines += lines;
                    if record.fields.iter().all(String::is_empty) {
                        self.ledger.blank += lines;
                        continue;
                    }
                    self.ledger.in_records += lines;
                    self.ledger.records += 1;
                    self.count_cells(record, faults);
                    return Ok(true);
                }
                Err(error) => {
                    self.spent = true;
                    return Err(self.broken(started, &error));
                }
            }
        }
    }

    /// The raw cells of the next record, and how many lines it takes; 0 at the end.
    fn next_cells(&mut self, faults: &mut Faults) -> io::Result<u64> {
        let started = self.lines.next + 1;
        if !self.lines.read(&mut self.line)? {
            return Ok(0);
        }
        if !self.line.contains(&b'"') {
            cells_without_quotes(&self.line, self.delimiter, &mut self.cells);
            return Ok(1);
        }
        if cells_of(&self.line, self.delimiter, &mut self.cells) {
            return Ok(1);
        }
        // The cell goes on over the line's end.
        let mut further: Vec<Vec<u8>> = Vec::new();
        let mut whole = self.line.clone();
        while further.len() < MOST_LINES_OF_A_RECORD && whole.len() < MAX_RECORD_BYTES {
            let mut line = Vec::new();
            if !self.lines.read(&mut line)? {
                break;
            }
            let like_a_row = self.looks_like_a_row(&line);
            whole.extend_from_slice(&line);
            further.push(line);
            if like_a_row {
                break;
            }
            if cells_of(&whole, self.delimiter, &mut self.cells) {
                return Ok(1 + further.len() as u64);
            }
        }
        self.lines.give_back(further);
        faults.push(
            Fault::new(
                "BW-I08",
                Severity::Warning,
                "a quotation mark opens a cell here and nothing closes it",
            )
            .file(self.file_name.clone())
            .line(started)
            .value(String::from_utf8_lossy(&self.line).trim_end())
            .expected("quotation marks in pairs around a cell")
            .remedy("Take the mark out. The line was read without it, and the lines after it as rows of their own."),
        );
        let bare: Vec<u8> = self.line.iter().copied().filter(|byte| *byte != b'"').collect();
        cells_without_quotes(&bare, self.delimiter, &mut self.cells);
        Ok(1)
    }

    /// Whether a line has the cells of a whole row by itself. Of a table of one column nothing can be said.
    fn looks_like_a_row(&self, line: &[u8]) -> bool {
        let mut cells = Vec::new();
        let closed = cells_of(line, self.delimiter, &mut cells);
        self.header.len() > 1 && cells.len() >= self.header.len() && (closed || cells.len() > 2)
    }

    fn decode(&mut self, record: &mut Record) {
        record.fields.resize_with(self.cells.len(), String::new);
        for (field, text) in self.cells.iter().zip(record.fields.iter_mut()) {
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
    }

    fn count_cells(&self, record: &Record, faults: &mut Faults) {
        let (cells, expected) = (record.fields.len(), self.header.len());
        if expected == 0 || cells == expected {
            return;
        }
        let told = |code, what: &str| {
            Fault::new(code, Severity::Warning, what)
                .file(self.file_name.clone())
                .line(record.line)
                .value(&format!("{cells} cells"))
                .expected(format!(
                    "{expected} cells, as in the header on line {}",
                    self.header_line
                ))
        };
        if cells < expected {
            faults.push(
                told("BW-I09", "the row has fewer cells than the header")
                    .remedy("Export the list again; the cells that are not there were taken as blank."),
            );
        } else if self.tell_long && record.fields.iter().skip(expected).any(|cell| !cell.is_empty()) {
            faults.push(
                told("BW-I10", "the row has more cells than the header")
                    .remedy("Look for a separator inside a cell; cells beyond the header were not read."),
            );
        }
    }

    fn broken(&self, line: u64, error: &io::Error) -> Fault {
        if error.kind() == io::ErrorKind::FileTooLarge {
            Fault::new("BW-I07", Severity::Fatal, "a line that starts here never ends")
                .file(self.file_name.clone())
                .line(line)
                .expected(format!("lines of at most {} KiB", MAX_RECORD_BYTES / 1024))
                .remedy("Check that the file is a table with line ends.")
        } else {
            Fault::new("BW-I03", Severity::Fatal, format!("the file cannot be read: {error}"))
                .file(self.file_name.clone())
                .line(line)
        }
    }
}

/// Cells of a line in which quotation marks mean nothing.
fn cells_without_quotes(line: &[u8], delimiter: u8, cells: &mut Vec<Vec<u8>>) {
    let bare = line.strip_suffix(b"\n").unwrap_or(line);
    let mut n = 0;
    for cell in bare.split(|byte| *byte == delimiter) {
        match cells.get_mut(n) {
            Some(kept) => {
                kept.clear();
                kept.extend_from_slice(cell);
            }
            None => cells.push(cell.to_vec()),
        }
        n += 1;
    }
    cells.truncate(n);
}

/// Cells of one record as RFC 4180 has them; `false` when the text ends inside a quoted cell.
fn cells_of(text: &[u8], delimiter: u8, cells: &mut Vec<Vec<u8>>) -> bool {
    #[derive(PartialEq)]
    enum At {
        Start,
        Bare,
        Quoted,
        Mark,
    }
    let bare = text.strip_suffix(b"\n").unwrap_or(text);
    cells.clear();
    let mut cell = Vec::new();
    let mut at = At::Start;
    for &byte in bare {
        at = match at {
            At::Start if byte == b'"' => At::Quoted,
            At::Quoted if byte == b'"' => At::Mark,
            At::Quoted => {
                cell.push(byte);
                At::Quoted
            }
            At::Mark if byte == b'"' => {
                cell.push(byte);
                At::Quoted
            }
            _ if byte == delimiter => {
                cells.push(std::mem::take(&mut cell));
                At::Start
            }
            // Blanks before a quoted cell do not make its mark a part of the text.
            At::Start if byte == b' ' => At::Start,
            _ => {
                cell.push(byte);
                At::Bare
            }
        };
    }
    cells.push(cell);
    at != At::Quoted
}

/// Lines of a text whose ends are LF, some of which may be given back.
struct Lines<'a> {
    inner: io::BufReader<Box<dyn Read + 'a>>,
    given_back: VecDeque<Vec<u8>>,
    /// Lines read so far and not given back.
    next: u64,
}

impl<'a> Lines<'a> {
    fn new(inner: impl Read + 'a) -> Self {
        Self {
            inner: io::BufReader::with_capacity(PEEK_BYTES, Box::new(inner)),
            given_back: VecDeque::new(),
            next: 0,
        }
    }

    /// Reads a line with its end; `false` at the end of the text.
    ///
    /// # Errors
    /// [`io::ErrorKind::FileTooLarge`] when the line does not end.
    fn read(&mut self, line: &mut Vec<u8>) -> io::Result<bool> {
        line.clear();
        if let Some(kept) = self.given_back.pop_front() {
            *line = kept;
            self.next += 1;
            return Ok(true);
        }
        let n = self
            .inner
            .by_ref()
            .take(MAX_RECORD_BYTES as u64 + 1)
            .read_until(b'\n', line)?;
        if n > MAX_RECORD_BYTES {
            return Err(io::Error::from(io::ErrorKind::FileTooLarge));
        }
        self.next += u64::from(n > 0);
        Ok(n > 0)
    }

    fn give_back(&mut self, lines: Vec<Vec<u8>>) {
        self.next -= lines.len() as u64;
        for line in lines.into_iter().rev() {
            self.given_back.push_front(line);
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
            let rows = reader.byte_records().take(HEADER_LINES).flatten();
            // Rows of nothing but delimiters are passed over here as where records are read.
            let filled = rows.filter(|row| row.iter().any(|cell| !String::from_utf8_lossy(cell).trim().is_empty()));
            for (at, record) in filled.enumerate() {
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

/// UTF-16 that lacks its byte-order mark: text of a western office has a zero in every second byte.
fn utf16_without_mark(raw: &[u8]) -> Option<&'static encoding_rs::Encoding> {
    let pairs = raw.get(..raw.len().min(2048))?.chunks_exact(2);
    let n = pairs.len();
    let zeros = |at: usize| pairs.clone().filter(|pair| pair.get(at) == Some(&0)).count();
    let (first, second) = (zeros(0), zeros(1));
    // Nine of ten, and none on the other side (judgement): binary files have zeros on both.
    let most = |zeros: usize| n >= 16 && zeros * 10 >= n * 9;
    match (most(first), most(second)) {
        (false, true) if first == 0 => Some(encoding_rs::UTF_16LE),
        (true, false) if second == 0 => Some(encoding_rs::UTF_16BE),
        _ => None,
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
