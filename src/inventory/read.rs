//! A utility's list to assemblies, rejects and faults, in one pass over the bytes.

mod cells;

use self::cells::{Cells, Shared, date};
use super::assembly::{Assembly, Contact};
use super::check;
use super::columns::{Column, Layout, Names, nearest};
use super::dates::{Dated, Order};
use super::parse;
use super::synonyms::Synonyms;
use crate::faults::{Fault, Faults, Severity};
use crate::input::{Record, Records};
use crate::text::Text;
use std::collections::{BTreeMap, BTreeSet, HashMap};
use std::io::Read;
use std::sync::Arc;

/// A row that was not used.
#[derive(Debug, Clone, PartialEq)]
pub struct Reject {
    /// One-based line on which it starts.
    pub line: u64,
    /// Its cells as read.
    pub record: Vec<String>,
    /// The header of its file.
    pub header: Arc<Vec<String>>,
    /// Why it was not used; never empty.
    pub faults: Vec<Fault>,
}

/// A row that cannot be modelled, for its type, its size or its place, but has somebody who can be told: no rank, and a call all the same.
#[derive(Debug, Clone, PartialEq)]
pub struct Unranked {
    /// Its identifier.
    pub assembly_id: String,
    /// One-based line on which it starts.
    pub line: u64,
    /// Why it cannot be modelled.
    pub why: String,
    /// The type as listed.
    pub device_type: String,
    /// The size as listed.
    pub nominal_size: String,
    /// What it serves, as listed.
    pub service: String,
    /// Where it stands, as listed.
    pub placement: String,
    /// Critical use, in the utility's word.
    pub critical: Option<Text>,
    /// Who to tell.
    pub contact: Contact,
}

impl Unranked {
    /// Rows that tell neither where they stand nor a station, where several series could be meant: nothing can be computed for them, and
    /// whoever is listed is told all the same. `choices` are those of [`place_assemblies`](super::place_assemblies).
    pub fn without_weather(assemblies: &[Assembly], choices: &[Option<super::Choice>]) -> Vec<Unranked> {
        let lost = assemblies.iter().zip(choices).filter(|(_, choice)| choice.is_none());
        lost.map(|(assembly, _)| assembly)
            .filter(|assembly| {
                let contact = &assembly.contact;
                [&contact.phone, &contact.email, &contact.site_address]
                    .iter()
                    .any(|cell| cell.is_some())
            })
            .map(|assembly| Unranked {
                assembly_id: assembly.assembly_id.to_string(),
                line: assembly.line,
                why: "the row has no coordinates and no station, so that no weather can be chosen for it".to_owned(),
                device_type: assembly.device_type.word().to_owned(),
                nominal_size: assembly.nominal_size.word().to_owned(),
                service: assembly.service.word().to_owned(),
                placement: assembly.placement.word().to_owned(),
                critical: assembly.critical.clone(),
                contact: assembly.contact.clone(),
            })
            .collect()
    }
}

/// All that reading a list tells.
#[derive(Debug, Clone, Default)]
pub struct Inventory {
    /// Rows that can be used, in the order of the file.
    pub assemblies: Vec<Assembly>,
    /// Rows that cannot.
    pub rejects: Vec<Reject>,
    /// Rows with somebody to tell that cannot be modelled: without a type or a size they stand in `rejects` too, without weather the plan sets
    /// them aside.
    pub unranked: Vec<Unranked>,
    /// All faults, those of the rejected rows included.
    pub faults: Faults,
    /// Rows read, used or not.
    pub rows: usize,
    /// For each column of the interface: how many of the usable rows tell nothing.
    pub blanks: BTreeMap<Column, usize>,
    /// Columns of the interface that the header lacks.
    pub absent: BTreeSet<Column>,
    /// Columns that are passed through unread.
    pub unread_columns: Vec<String>,
}

/// Reads a list of assemblies: [`read_inventory`] without the counts.
pub fn read_assemblies(
    bytes: impl Read,
    file_name: &str,
    columns: &BTreeMap<String, String>,
) -> (Vec<Assembly>, Vec<Reject>, Faults) {
    let read = read_inventory(bytes, file_name, columns);
    (read.assemblies, read.rejects, read.faults)
}

/// Reads a list of assemblies from delimited text, or from Parquet (`input::parquet`).
///
/// `columns` is the `[columns]` section of the config: our names on the left, the utility's on the right. A row lacks too much to be
/// used when its id, type or size is blank or unreadable; any other cell that cannot be read counts as blank and is told.
///
/// Faults, beside those of [`Records`], [`Names`], [`Layout`] and [`check`]: `BW-A01` a needed column is missing (fatal), `BW-A02` no
/// rows (fatal), `BW-A03` no usable row (fatal), `BW-A04` id, `BW-A05` type, `BW-A06` size, `BW-A07` id used before, `BW-A12` more cells than the
/// header, `BW-A13` type not made in that size (all: row rejected), `BW-A08` cell unreadable and `BW-A09` out of range (warnings: taken as
/// blank), `BW-A14` dates that can be read two ways, `BW-A21` read as Windows-1252, `BW-A23` size rescued from a date,
/// `BW-A28` sizes read as millimetres (notes).
pub fn read_inventory(bytes: impl Read, file_name: &str, columns: &BTreeMap<String, String>) -> Inventory {
    read_mapped(bytes, file_name, columns, &BTreeMap::new())
}

/// [`read_inventory`] with the utility's own words for cells too: `values` is the `[values]` section of the config.
pub fn read_mapped(
    bytes: impl Read,
    file_name: &str,
    columns: &BTreeMap<String, String>,
    values: &BTreeMap<String, BTreeMap<String, String>>,
) -> Inventory {
    let mut out = Inventory::default();
    let (names, told) = Names::new(columns);
    out.faults.append(told);
    let bytes = match crate::input::parquet::or_text(bytes, file_name) {
        Ok(bytes) => bytes,
        Err(fault) => {
            out.faults.push(fault);
            return out;
        }
    };
    let (synonyms, told) = Synonyms::new(values);
    out.faults.append(told);
    let mut records = match Records::open(bytes, file_name, |cell| names.column(cell).is_some()) {
        Ok(records) => records.long_rows_are_mine(),
        Err(fault) => {
            out.faults.push(fault);
            return out;
        }
    };
    let header = Arc::new(records.header().to_vec());
    let (layout, told) = Layout::of(&header, &names, file_name, records.header_line());
    out.faults.append(told);
    out.absent = Column::ALL
        .iter()
        .copied()
        .filter(|column| !layout.has(*column))
        .collect();
    out.unread_columns = layout.extra.iter().map(|(_, cell)| cell.to_string()).collect();
    missing_columns(&layout, &records, file_name, &mut out.faults);
    if out.faults.is_fatal() {
        return out;
    }
    let mut reader = Reader {
        layout,
        synonyms,
        bare_mm: None,
        file_name: file_name.to_owned(),
        decimal_comma: records.decimal_comma_likely(),
        seen: HashMap::new(),
        either: Vec::new(),
        order: Order::default(),
        said_bypass: BTreeSet::new(),
        shared: Shared::default(),
    };
    let mut record = Record::default();
    loop {
        match records.read(&mut record, &mut out.faults) {
            Ok(true) => {}
            Ok(false) => break,
            Err(fault) => {
                out.faults.push(fault);
                return out;
            }
        }
        if record.repeats(&header) {
            // Exports that were put one below the other repeat their header.
            continue;
        }
        out.rows += 1;
        reader.row(&record, &header, &mut out);
    }
    if out.rows == 0 {
        out.faults.push(
            Fault::new("BW-A02", Severity::Fatal, "the list has a header and no rows")
                .file(file_name)
                .line(records.header_line())
                .remedy("Export it again, or check that it is the file you meant."),
        );
        return out;
    }
    reader.finish(&mut out);
    out.assemblies.shrink_to_fit();
    if records.windows_1252_fields() > 0 {
        out.faults.push(
            Fault::new(
                "BW-A21",
                Severity::Note,
                format!(
                    "{} cells are not UTF-8 and were read as Windows-1252",
                    records.windows_1252_fields()
                ),
            )
            .file(file_name)
            .remedy("Look at names with accents; save the list as UTF-8 to be sure."),
        );
    }
    if out.assemblies.is_empty() {
        out.faults.push(
            Fault::new(
                "BW-A03",
                Severity::Fatal,
                format!("none of the {} rows can be used", out.rows),
            )
            .file(file_name)
            .expected("rows with an id, a type and a size")
            .remedy("See the faults of the rows; the columns may be mapped wrongly."),
        );
    }
    out
}

fn missing_columns(layout: &Layout, records: &Records<'_>, file_name: &str, faults: &mut Faults) {
    let missing: Vec<&str> = [Column::AssemblyId, Column::DeviceType, Column::NominalSize]
        .into_iter()
        .filter(|column| !layout.has(*column))
        .map(Column::name)
        .collect();
    if missing.is_empty() {
        return;
    }
    let near: Vec<String> = layout
        .extra
        .iter()
        .filter_map(|(_, cell)| Some((cell, nearest(cell)?)))
        .filter(|(_, name)| missing.contains(name))
        .map(|(cell, name)| format!("\"{cell}\" may be {name}."))
        .collect();
    faults.push(
        Fault::new(
            "BW-A01",
            Severity::Fatal,
            format!("the list lacks the column {}", missing.join(" and ")),
        )
        .file(file_name)
        .line(records.header_line())
        .value(&records.header().join(" | "))
        .expected("at least assembly_id, device_type and nominal_size_in in the header")
        .remedy(
            format!(
                "The header was read as {} columns separated by {}. Map your own names in [columns] of the config. {}",
                records.header().len(),
                records.delimiter_word(),
                near.join(" ")
            )
            .trim_end()
            .to_owned(),
        ),
    );
}

/// A date that can be read two ways, and whose it is.
struct Either {
    assembly: usize,
    line: u64,
    date: Dated,
}

/// What is carried from row to row.
struct Reader {
    layout: Layout,
    synonyms: Synonyms,
    /// Sizes without a unit that were read as millimetres: how many, and the first line.
    bare_mm: Option<(usize, u64)>,
    file_name: String,
    decimal_comma: bool,
    seen: HashMap<String, u64>,
    either: Vec<Either>,
    order: Order,
    said_bypass: BTreeSet<usize>,
    shared: Shared,
}

impl Reader {
    fn row(&mut self, record: &Record, header: &Arc<Vec<String>>, out: &mut Inventory) {
        let cells = Cells {
            layout: &self.layout,
            record,
            file_name: &self.file_name,
            synonyms: &self.synonyms,
            comma: self.decimal_comma,
        };
        let mut rejected = Vec::new();
        let id = cells.get(Column::AssemblyId);
        if id.is_empty() {
            rejected.push(
                cells
                    .rejected("BW-A04", Column::AssemblyId, "the row has no id")
                    .expected("a unique identifier")
                    .remedy("Give it one."),
            );
        } else if id.chars().any(char::is_control) || id.len() > 200 {
            rejected.push(
                cells
                    .rejected("BW-A04", Column::AssemblyId, "the id holds a line end or is too long")
                    .expected("a short identifier on one line")
                    .remedy("Look for a quotation mark that is not closed near this line."),
            );
        } else if let Some(first) = self.seen.get(id) {
            rejected.push(
                cells
                    .rejected(
                        "BW-A07",
                        Column::AssemblyId,
                        format!("this id stands on line {first} already"),
                    )
                    .expected("each id once")
                    .remedy("The first row was used. Remove this one, or give it its own id."),
            );
        }
        let device = cells.needed(Column::DeviceType, "BW-A05", parse::device_type, &mut rejected);
        let size = cells.needed(Column::NominalSize, "BW-A06", parse::nominal_size, &mut rejected);
        if let (Some(device), Some(size)) = (device, size)
            && !check::is_made(device.device_type, size.size)
        {
            rejected.push(
                cells
                    .rejected(
                        "BW-A13",
                        Column::NominalSize,
                        format!("{} is not made in {} in", device.device_type, size.size),
                    )
                    .expected("vacuum breakers to 2 in, detector assemblies from 1 in")
                    .remedy("Either the type or the size is wrong: look at the assembly."),
            );
        }
        if record.fields.iter().skip(header.len()).any(|cell| !cell.is_empty()) {
            rejected.push(
                Fault::new("BW-A12", Severity::Rejected, "the row has more cells than the header")
                    .file(&*self.file_name)
                    .line(record.line)
                    .value(
                        &record
                            .fields
                            .iter()
                            .skip(header.len())
                            .cloned()
                            .collect::<Vec<_>>()
                            .join(" | "),
                    )
                    .expected(format!("{} cells", header.len()))
                    .remedy("A cell that holds the delimiter must stand in quotation marks."),
            );
        }
        let (Some(device), Some(size), true) = (device, size, rejected.is_empty()) else {
            for fault in &rejected {
                out.faults.push(fault.clone());
            }
            if rejected
                .iter()
                .all(|fault| matches!(fault.code, "BW-A05" | "BW-A06" | "BW-A13"))
            {
                out.unranked.extend(cells.unranked(id, &rejected));
            }
            out.rejects.push(Reject {
                line: record.line,
                record: record.fields.clone(),
                header: Arc::clone(header),
                faults: rejected,
            });
            return;
        };
        self.seen.insert(id.to_owned(), record.line);
        let index = out.assemblies.len();
        if device.bypass {
            self.said_bypass.insert(index);
        }
        if size.bare_mm {
            self.bare_mm.get_or_insert((0, record.line)).0 += 1;
        }
        if size.from_date {
            out.faults.push(
                cells
                    .fault(
                        "BW-A23",
                        Severity::Note,
                        Column::NominalSize,
                        format!("a spreadsheet turned the size into a date; read as {}", size.size),
                    )
                    .remedy("Format the column as text before typing fractions."),
            );
        }
        let last_test = cells.read(Column::LastTest, date, &mut out.faults).map(|date| {
            self.order.see(date);
            if matches!(date, Dated::Either { .. }) {
                self.either.push(Either {
                    assembly: index,
                    line: record.line,
                    date,
                });
            }
            self.order.read(date)
        });
        let assembly = cells.assembly(
            id,
            device.device_type,
            size.size,
            last_test,
            &mut self.shared,
            &mut out.faults,
        );
        for column in Column::ALL {
            if parse::is_blank(cells.get(*column)) {
                *out.blanks.entry(*column).or_default() += 1;
            }
        }
        check::one(&assembly, &self.file_name, &mut out.faults);
        out.assemblies.push(assembly);
    }

    /// What only the whole list tells.
    fn finish(mut self, out: &mut Inventory) {
        self.settle_dates(out);
        if let Some((count, line)) = self.bare_mm {
            out.faults.push(
                Fault::new(
                    "BW-A28",
                    Severity::Note,
                    format!(
                        "{count} sizes without a unit were read as millimetres, since no assembly is so many inches"
                    ),
                )
                .file(&*self.file_name)
                .line(line)
                .column(Column::NominalSize.name())
                .remedy("Write the unit, as in 50 mm, to be sure."),
            );
        }
        check::coordinates(&mut out.assemblies, &self.file_name, &mut out.faults);
        // A row lower down with the same id and all that it needs stands for it.
        out.unranked.retain(|row| !self.seen.contains_key(&row.assembly_id));
        check::shared_serials(&out.assemblies, &self.file_name, &mut out.faults);
        check::shared_phones(&out.assemblies, &self.file_name, &mut out.faults);
        let said = std::mem::take(&mut self.said_bypass);
        check::bypasses(
            &out.assemblies,
            &|index| said.contains(&index),
            &self.file_name,
            &mut out.faults,
        );
    }

    /// Dates that can be read two ways follow the ones that cannot; without such, the month comes first, as in the US.
    fn settle_dates(&self, out: &mut Inventory) {
        let Some(first) = self.either.first() else { return };
        for either in &self.either {
            if let Some(assembly) = out.assemblies.get_mut(either.assembly) {
                assembly.last_test = Some(self.order.read(either.date));
            }
        }
        out.faults.push(
            Fault::new("BW-A14", Severity::Note, self.order.told(self.either.len(), first.line))
                .file(&*self.file_name)
                .line(first.line)
                .column(Column::LastTest.name())
                .remedy("Write dates as 2025-03-14."),
        );
    }
}
