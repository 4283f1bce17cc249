//! A table as plain comma-separated values, for readers that look at nothing else: whatever its delimiter, letters and stray marks were.

use super::records::{Record, Records};
use crate::faults::{Fault, Faults, Severity};
use std::io;

/// The rows of a table as CSV in UTF-8, each on the line where it stood, so that what is told of a line stays true.
///
/// `known` names the columns that the reader understands, in any case. The faults are those of [`Records::read`]: a quotation mark that
/// nothing closes costs no row but is told, as are rows with too few or too many cells.
///
/// # Errors
/// As [`Records::open`] and [`Records::read`].
pub fn plain(bytes: &[u8], file_name: &str, known: &dyn Fn(&str) -> bool) -> Result<(Vec<u8>, Faults), Fault> {
    let mut records = Records::open(bytes, file_name, |cell| known(&cell.trim().to_ascii_lowercase()))?;
    let mut faults = Faults::new();
    let mut out = Lines {
        bytes: Vec::with_capacity(bytes.len() + bytes.len() / 8),
        line: 1,
    };
    let unwritten = |error: io::Error| {
        Fault::new("BW-I03", Severity::Fatal, format!("the file cannot be read: {error}")).file(file_name)
    };
    let header = records.header().to_vec();
    out.put(records.header_line(), &header).map_err(unwritten)?;
    let mut record = Record::default();
    while records.read(&mut record, &mut faults)? {
        out.put(record.line, &record.fields).map_err(unwritten)?;
    }
    Ok((out.bytes, faults))
}

struct Lines {
    bytes: Vec<u8>,
    line: u64,
}

impl Lines {
    /// Writes a row on this line; rows come in order.
    fn put(&mut self, line: u64, cells: &[String]) -> io::Result<()> {
        while self.line < line {
            self.bytes.push(b'\n');
            self.line += 1;
        }
        let begin = self.bytes.len();
        {
            let mut csv = csv::WriterBuilder::new().flexible(true).from_writer(&mut self.bytes);
            csv.write_record(cells).map_err(io::Error::from)?;
            csv.flush()?;
        }
        let written = self.bytes.get(begin..).unwrap_or_default();
        self.line += written.iter().filter(|byte| **byte == b'\n').count() as u64;
        Ok(())
    }
}
