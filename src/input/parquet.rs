//! Tables in Parquet, read as if they were CSV: a header, then a line for each row.

use crate::faults::{Fault, Severity};
use bytes::Bytes;
use chrono::{DateTime, NaiveDate, SecondsFormat};
use parquet::errors::ParquetError;
use parquet::file::reader::{FileReader, SerializedFileReader};
use parquet::record::Field;
use std::io::{self, Cursor, Read};
use std::panic::{AssertUnwindSafe, catch_unwind};

/// How a Parquet file begins and ends.
const MARK: &[u8; 4] = b"PAR1";

/// Largest Parquet file that is taken, bytes (judgement: a million assemblies take a tenth of it).
const MOST_BYTES: u64 = 512 * 1024 * 1024;

/// The text of a table: the bytes as they are, or, of a Parquet file, the CSV that it stands for.
///
/// Columns must be plain (no lists or structures); a null is a blank cell, a date is `2027-01-31`, a moment RFC 3339 in UTC.
///
/// # Errors
/// `BW-I11` when a Parquet file is too large, broken, or holds more than plain columns; `BW-I03` when it cannot be read.
pub fn or_text<'r>(mut bytes: impl Read + 'r, file_name: &str) -> Result<Box<dyn Read + 'r>, Fault> {
    let unread = |error: io::Error| {
        Fault::new("BW-I03", Severity::Fatal, format!("the file cannot be read: {error}")).file(file_name)
    };
    let mut head = Vec::with_capacity(MARK.len());
    bytes
        .by_ref()
        .take(MARK.len() as u64)
        .read_to_end(&mut head)
        .map_err(unread)?;
    if head != MARK {
        return Ok(Box::new(Cursor::new(head).chain(bytes)));
    }
    let refused = |why: &str| {
        Fault::new(
            "BW-I11",
            Severity::Fatal,
            format!("this Parquet file cannot be used: {why}"),
        )
        .file(file_name)
        .expected("a whole file with plain columns of text, numbers, dates or moments")
        .remedy("Write it again, or export the list as CSV.")
    };
    let mut whole = head;
    bytes.take(MOST_BYTES).read_to_end(&mut whole).map_err(unread)?;
    if whole.len() as u64 > MOST_BYTES {
        return Err(refused("it is too large"));
    }
    // The reader of a hostile file may stop itself: that is a fault of the file too.
    match catch_unwind(AssertUnwindSafe(|| csv_of(Bytes::from(whole)))) {
        Ok(Ok(text)) => Ok(Box::new(Cursor::new(text))),
        Ok(Err(why)) => Err(refused(&why.to_string())),
        Err(_) => Err(refused("its pages contradict each other")),
    }
}

fn csv_of(bytes: Bytes) -> Result<Vec<u8>, ParquetError> {
    let reader = SerializedFileReader::new(bytes)?;
    let fields = reader.metadata().file_metadata().schema().get_fields();
    if let Some(field) = fields.iter().find(|field| field.is_group()) {
        return Err(ParquetError::General(format!(
            "the column {} is not plain",
            field.name()
        )));
    }
    let failed = |error: csv::Error| ParquetError::External(Box::new(error));
    let mut out = csv::Writer::from_writer(Vec::new());
    out.write_record(fields.iter().map(|field| field.name()))
        .map_err(failed)?;
    for row in reader.get_row_iter(None)? {
        let row = row?;
        out.write_record(row.get_column_iter().map(|(_, field)| cell(field)))
            .map_err(failed)?;
    }
    out.into_inner()
        .map_err(|error| ParquetError::General(error.to_string()))
}

/// A cell as text. A whole number written as a fraction (an account that a spreadsheet made `1200.0`) loses the fraction.
fn cell(field: &Field) -> String {
    let moment = |time: Option<DateTime<_>>| {
        time.map_or(String::new(), |time| time.to_rfc3339_opts(SecondsFormat::AutoSi, true))
    };
    match field {
        Field::Null => String::new(),
        Field::Str(text) => text.clone(),
        Field::Bool(true) => "yes".to_owned(),
        Field::Bool(false) => "no".to_owned(),
        Field::Float(value) => value.to_string(),
        Field::Double(value) => value.to_string(),
        Field::Bytes(bytes) => String::from_utf8_lossy(bytes.data()).into_owned(),
        Field::Date(days) => NaiveDate::from_epoch_days(*days).map_or(String::new(), |day| day.to_string()),
        Field::TimestampMillis(at) => moment(DateTime::from_timestamp_millis(*at)),
        Field::TimestampMicros(at) => moment(DateTime::from_timestamp_micros(*at)),
        other => other.to_string(),
    }
}
