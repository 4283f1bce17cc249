//! A list as Parquet for analysts: the columns of the CSV with their types, units in the file's metadata.
//!
//! Numbers are rounded as in the CSV, so that both files tell the same; moments are milliseconds in UTC; an empty cell is a null.
//! The key `brimwater.units` of the file's metadata holds a JSON object from column to unit. Compressed with Snappy.

use super::columns::{Cell, Column, Kind};
use super::plan::rounded;
use parquet::basic::{Compression, LogicalType, Repetition, TimeUnit, TimestampType, Type as Physical};
use parquet::data_type::{ByteArray, ByteArrayType, DoubleType, Int64Type};
use parquet::errors::ParquetError;
use parquet::file::metadata::KeyValue;
use parquet::file::properties::WriterProperties;
use parquet::file::writer::{SerializedFileWriter, SerializedRowGroupWriter};
use parquet::schema::types::{Type, TypePtr};
use std::collections::BTreeMap;
use std::io::{self, Write};
use std::sync::Arc;

/// How the file's maker begins, by which we know our own.
pub const MAKER: &str = "brimwater version ";

/// Rows of one row group: large enough to compress, small enough to hold in memory (judgement).
const GROUP_ROWS: usize = 65_536;

/// Writes the list.
///
/// # Errors
/// When the writer fails.
pub fn write<R>(
    name: &str,
    columns: &[Column<'_, R>],
    rows: impl Iterator<Item = R>,
    out: impl Write + Send,
) -> io::Result<()> {
    write_groups(name, columns, rows, out).map_err(|error| match error {
        ParquetError::External(inner) => io::Error::other(inner),
        other => io::Error::other(other),
    })
}

fn write_groups<R>(
    name: &str,
    columns: &[Column<'_, R>],
    mut rows: impl Iterator<Item = R>,
    out: impl Write + Send,
) -> Result<(), ParquetError> {
    let units: BTreeMap<&str, &str> = columns
        .iter()
        .filter(|column| !column.unit.is_empty())
        .map(|column| (column.name.as_ref(), column.unit))
        .collect();
    let units = serde_json::to_string(&units).map_err(|error| ParquetError::External(Box::new(error)))?;
    let properties = WriterProperties::builder()
        .set_created_by(format!("{MAKER}{}", crate::VERSION))
        .set_compression(Compression::SNAPPY)
        .set_key_value_metadata(Some(vec![KeyValue::new("brimwater.units".to_owned(), units)]))
        .build();
    let fields = columns.iter().map(field).collect::<Result<Vec<TypePtr>, _>>()?;
    let schema = Type::group_type_builder(name).with_fields(fields).build()?;
    let mut file = SerializedFileWriter::new(out, Arc::new(schema), Arc::new(properties))?;
    loop {
        let some: Vec<R> = rows.by_ref().take(GROUP_ROWS).collect();
        if some.is_empty() {
            break;
        }
        let mut group = file.next_row_group()?;
        for column in columns {
            write_column(&mut group, column, &some)?;
        }
        group.close()?;
    }
    file.close().map(drop)
}

/// A column's place in the schema.
fn field<R>(column: &Column<'_, R>) -> Result<TypePtr, ParquetError> {
    let (physical, logical) = match column.kind {
        Kind::Text => (Physical::BYTE_ARRAY, Some(LogicalType::String)),
        Kind::Whole => (Physical::INT64, None),
        Kind::Number(_) => (Physical::DOUBLE, None),
        Kind::Local | Kind::Utc => (
            Physical::INT64,
            Some(LogicalType::Timestamp(TimestampType {
                is_adjusted_to_u_t_c: true,
                unit: TimeUnit::MILLIS,
            })),
        ),
    };
    Type::primitive_type_builder(&column.name, physical)
        .with_repetition(Repetition::OPTIONAL)
        .with_logical_type(logical)
        .build()
        .map(Arc::new)
}

fn write_column<W: Write + Send, R>(
    group: &mut SerializedRowGroupWriter<'_, W>,
    column: &Column<'_, R>,
    rows: &[R],
) -> Result<(), ParquetError> {
    let Some(mut writer) = group.next_column()? else {
        return Err(ParquetError::General(format!(
            "no place for the column {}",
            column.name
        )));
    };
    let mut defined: Vec<i16> = Vec::with_capacity(rows.len());
    let mut texts: Vec<ByteArray> = Vec::new();
    let mut wholes: Vec<i64> = Vec::new();
    let mut numbers: Vec<f64> = Vec::new();
    for row in rows {
        let found = match ((column.cell)(row), column.kind) {
            (Cell::Text(text), Kind::Text) => {
                texts.push(ByteArray::from(text.as_ref()));
                true
            }
            (Cell::Whole(value), Kind::Whole) => {
                wholes.push(value);
                true
            }
            (Cell::Number(value), Kind::Number(decimals)) => {
                numbers.push(rounded(value, decimals));
                true
            }
            (Cell::Time(time), Kind::Local | Kind::Utc) => {
                wholes.push(time.timestamp_millis());
                true
            }
            _ => false,
        };
        defined.push(i16::from(found));
    }
    match column.kind {
        Kind::Text => writer
            .typed::<ByteArrayType>()
            .write_batch(&texts, Some(&defined), None)?,
        Kind::Number(_) => writer
            .typed::<DoubleType>()
            .write_batch(&numbers, Some(&defined), None)?,
        Kind::Whole | Kind::Local | Kind::Utc => {
            writer.typed::<Int64Type>().write_batch(&wholes, Some(&defined), None)?
        }
    };
    writer.close()
}
