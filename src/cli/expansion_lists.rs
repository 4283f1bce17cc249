//! Many systems for `brimwater expansion --systems`.

use super::Done;
use super::common::{self, Common, Failure, Format};
use super::expansion::{Echoed, choose};
use crate::expansion::catalogue::CatalogueTank;
use crate::expansion::readings::{Quantity, READINGS, Reading, Slot, reading};
use crate::expansion::told::own_temperature;
use crate::expansion::words::Note;
use crate::expansion::{Assessment, Measure, Step, System, Told, judge};
use crate::faults::{Fault, Faults, Severity};
use crate::input::{Record, Records, file};
use crate::inventory::read::Reject;
use crate::language::Tongue;
use crate::output::defuse::defuse;
use crate::output::safe::target::Target;
use crate::output::{expansion_csv, expansion_text, rejects_csv, table};
use crate::units::{UnitSystem, show_gauge, show_volume, show_volume_at_least};
use rayon::prelude::*;
use std::collections::{BTreeMap, HashSet};
use std::io::Write;
use std::path::Path;
use std::sync::Arc;
use tempfile::SpooledTempFile;

/// Rows taken at a time: enough to feed every core, few enough to keep memory bounded.
const CHUNK: usize = 4096;
/// Rows that the table for people shows.
const TABLE_ROWS: usize = 40;

/// A column: the reading, and the unit that the header told.
#[derive(Debug, Clone, Copy)]
struct Column {
    field: Field,
    unit: &'static str,
}

/// What a column tells.
#[derive(Debug, Clone, Copy)]
enum Field {
    Id,
    Reading(&'static Reading),
}

impl Field {
    /// Its base name; units follow after an underscore.
    fn name(self) -> String {
        match self {
            Field::Id => "system_id".into(),
            Field::Reading(reading) => reading.field(),
        }
    }
}

/// The field of a base name; readings that may be told several times are read in the plural, too.
fn field(name: &str) -> Option<Field> {
    if matches!(name, "system_id" | "id") {
        return Some(Field::Id);
    }
    let key = name.replace('_', "-");
    let singular = key.strip_suffix('s').unwrap_or(&key);
    reading(&key)
        .or_else(|| reading(singular).filter(|reading| matches!(reading.slot, Slot::Many(_))))
        .map(Field::Reading)
}

pub(super) const UNITS: [(&str, &str); 13] = [
    ("gal", "gal"),
    ("l", "L"),
    ("f", "F"),
    ("c", "C"),
    ("k", "K"),
    ("psi", "psi"),
    ("kpa", "kPa"),
    ("bar", "bar"),
    ("ft", "ft"),
    ("m", "m"),
    ("btu_h", "Btu/h"),
    ("w", "W"),
    ("kw", "kW"),
];

fn column(header: &str) -> Option<Column> {
    let name = header.trim().to_lowercase().replace([' ', '-'], "_");
    if let Some(field) = field(&name) {
        return Some(Column { field, unit: "" });
    }
    UNITS.iter().find_map(|(word, unit)| {
        let base = name.strip_suffix(word)?.strip_suffix('_')?;
        Some(Column {
            field: field(base)?,
            unit,
        })
    })
}

/// A row with its readings as text.
struct Row {
    line: u64,
    id: String,
    told: Told,
    extra: Vec<String>,
    record: Vec<String>,
}

/// Fills a row's readings; what the row leaves blank keeps what the options told.
fn fill(columns: &[Option<Column>], record: &Record, defaults: &Told, decimal_comma: bool) -> Row {
    let mut row = Row {
        line: record.line,
        id: String::new(),
        told: defaults.clone(),
        extra: Vec::new(),
        record: Vec::new(),
    };
    for (at, column) in columns.iter().enumerate() {
        let cell = record.fields.get(at).map_or("", String::as_str).trim();
        let Some(column) = column else {
            row.extra.push(cell.to_string());
            continue;
        };
        if cell.is_empty() {
            continue;
        }
        let one = |text: &str| -> String {
            let text = text.trim();
            let bare = text
                .bytes()
                .all(|b| b.is_ascii_digit() || matches!(b, b'.' | b',' | b'-' | b'+' | b'/' | b' '));
            let text = if decimal_comma && bare {
                text.replace(',', ".")
            } else {
                text.to_string()
            };
            if bare && !text.is_empty() && !column.unit.is_empty() {
                format!("{text} {}", column.unit)
            } else {
                text
            }
        };
        let reading = match column.field {
            Field::Id => {
                row.id = cell.to_string();
                continue;
            }
            Field::Reading(reading) => reading,
        };
        // A heater's own temperature follows its volume, and the header's unit is the volume's.
        let with_own = |text: &str| match own_temperature(text) {
            (volume, Some(own)) => format!("{} @ {own}", one(volume)),
            (volume, None) => one(volume),
        };
        let several = |text: &str| -> Vec<String> {
            match reading.quantity {
                Quantity::Device => text.split([';', ',']).map(|part| part.trim().to_string()).collect(),
                _ => text.split(';').map(with_own).collect(),
            }
        };
        match reading.slot {
            Slot::One(slot) => *slot(&mut row.told) = Some(one(cell)),
            Slot::Many(slot) => *slot(&mut row.told) = several(cell),
            Slot::Flag(slot) => {
                *slot(&mut row.told) = matches!(cell.to_lowercase().as_str(), "yes" | "y" | "true" | "1" | "x");
            }
        }
    }
    row
}

/// What goes for every system of a list.
pub(super) struct Batch<'a> {
    /// Readings where the list leaves a cell blank.
    pub defaults: &'a Told,
    /// Coldest air of the climate record, °C.
    pub coldest_air_c: Option<f64>,
    /// Tanks to choose from.
    pub tanks: &'a [CatalogueTank],
    /// Whether the readings that would overturn an answer are looked for.
    pub sensitivity: bool,
}

/// What is written of one answered system, in the form that was asked for. Answers themselves are not kept: 100,000 of them outgrow
/// the memory of a small machine.
enum Written {
    Row(Vec<String>),
    Cells(Vec<String>),
    Json(String),
}

/// One system of the list.
struct Answered {
    measure: Measure,
    doubtful: bool,
    written: Written,
}

/// What a list gave.
struct Answers {
    answered: usize,
    doubtful: usize,
    measures: BTreeMap<Measure, usize>,
    rejects: Vec<Reject>,
    /// What the table's lines tell beside the rejected rows.
    faults: Faults,
    out: Out,
}

/// What is written of a whole list, growing as it is read and shown only when all of it is there.
enum Out {
    Table(Vec<Vec<String>>),
    Csv(Box<csv::Writer<SpooledTempFile>>),
    Json(SpooledTempFile),
}

/// What is kept of it in memory; the rest waits in a file without a name. JSON of 100,000 systems is some 600 MB.
const SPOOLED_BYTES: usize = 64 << 20;

/// Runs a list of systems.
pub(super) fn run_systems(path: &Path, rejects: Option<Target<'_>>, batch: &Batch<'_>, common: &Common) -> Done {
    let answers = read_systems(path, batch, common)?;
    if let Some(target) = rejects {
        let mut bytes = Vec::new();
        rejects_csv::write(&answers.rejects, &mut bytes).map_err(|error| {
            Fault::new(
                "BW-O04",
                Severity::Fatal,
                format!("the rejects cannot be written: {error}"),
            )
        })?;
        target.write(&bytes)?;
    }
    let mut faults = Faults::new();
    for reject in &answers.rejects {
        for fault in &reject.faults {
            faults.push(fault.clone());
        }
    }
    faults.append(answers.faults.clone());
    common.tell(&faults);
    let total = answers.answered + answers.rejects.len();
    let last = format!(
        "{total} systems: {} answered, {} rejected{}\n",
        answers.answered,
        answers.rejects.len(),
        if answers.doubtful > 0 {
            format!("; {} of the answered have readings to look at again", answers.doubtful)
        } else {
            String::new()
        }
    );
    let status = match answers.out {
        Out::Json(spool) => common::print_spooled(end_json(spool, &answers.rejects)?)?,
        Out::Csv(writer) => {
            let spool = writer.into_inner().map_err(|error| csv_failed(&error.to_string()))?;
            common::print_spooled(spool)?
        }
        Out::Table(rows) => {
            common::print(&(systems_table(rows, batch.sensitivity, answers.answered, &answers.measures) + &last))?
        }
    };
    if common.format != Format::Table && !common.quiet {
        let _ = std::io::stderr().lock().write_all(last.as_bytes());
    }
    Ok(status.max(faults.exit_status()).min(1))
}

fn read_systems(path: &Path, batch: &Batch<'_>, common: &Common) -> Result<Answers, Failure> {
    let name = file::shown(path);
    let source = file::open(path)?;
    let mut records = Records::open(source, &name, |header| column(header).is_some())?.long_rows_are_mine();
    let header = Arc::new(records.header().to_vec());
    let columns: Vec<Option<Column>> = header.iter().map(|cell| column(cell)).collect();
    check_header(&columns, &header, &name, records.header_line())?;
    let decimal_comma = records.decimal_comma_likely();
    let unread = header.iter().zip(&columns).filter(|(_, column)| column.is_none());
    let mut answers = Answers {
        answered: 0,
        doubtful: 0,
        measures: BTreeMap::new(),
        out: Out::begin(common.format, batch.sensitivity, unread.map(|(cell, _)| cell.as_str()))?,
        rejects: Vec::new(),
        faults: unread_columns(&header, &columns, &name, records.header_line()),
    };
    let mut seen: HashSet<String> = HashSet::new();
    let mut record = Record::default();
    let mut chunk: Vec<Row> = Vec::with_capacity(CHUNK);
    loop {
        let more = records.read(&mut record, &mut answers.faults)?;
        if more {
            let mut row = fill(&columns, &record, batch.defaults, decimal_comma);
            row.record.clone_from(&record.fields);
            let fault = if row.id.is_empty() {
                Some(Fault::new("BW-X40", Severity::Rejected, "the row has no system_id").expected("a unique word"))
            } else if !seen.insert(row.id.clone()) {
                Some(
                    Fault::new("BW-X41", Severity::Rejected, "this system_id stands in the list before")
                        .value(&row.id)
                        .remedy("Give each system its own, or take the row out."),
                )
            } else if record
                .fields
                .iter()
                .skip(columns.len())
                .any(|cell| !cell.trim().is_empty())
            {
                Some(
                    Fault::new("BW-X42", Severity::Rejected, "the row has more cells than the header")
                        .remedy("Put cells with commas in quotation marks."),
                )
            } else {
                None
            };
            match fault {
                Some(fault) => answers.rejects.push(reject(row, vec![fault], &header, &name)),
                None => chunk.push(row),
            }
        }
        if chunk.len() >= CHUNK || !more {
            let system_units = common.system();
            let done: Vec<(Row, Result<Answered, Faults>)> = std::mem::take(&mut chunk)
                .into_par_iter()
                .map(|row| {
                    let answered = answer(&row, batch, system_units, common.format);
                    (row, answered)
                })
                .collect();
            for (row, answered) in done {
                match answered {
                    Ok(answered) => answers.add(answered)?,
                    Err(faults) => answers.rejects.push(reject(row, faults.0, &header, &name)),
                }
            }
        }
        if !more {
            break;
        }
    }
    answers.rejects.sort_by_key(|reject| reject.line);
    if answers.answered == 0 && answers.rejects.is_empty() {
        return Err(
            Fault::new("BW-I05", Severity::Fatal, "the list has a header and no systems")
                .file(name)
                .into(),
        );
    }
    Ok(answers)
}

/// Each column that is passed through without being read, told once, with the reading that it may stand for.
fn unread_columns(header: &[String], columns: &[Option<Column>], name: &str, line: u64) -> Faults {
    let mut faults = Faults::new();
    for (cell, _) in header.iter().zip(columns).filter(|(_, column)| column.is_none()) {
        let mut fault = Fault::new(
            "BW-X47",
            Severity::Note,
            "this column is not read; it is passed through",
        )
        .file(name)
        .line(line)
        .column(cell.clone());
        let typed = cell.trim().to_lowercase().replace([' ', '-'], "_");
        let likely = READINGS.iter().map(Reading::field).find(|known| {
            let stem = |name: &str| name.split('_').next().unwrap_or("").to_string();
            let (typed, known) = (stem(&typed), stem(known));
            // One letter wrong, left out or too many.
            typed.len() > 3 && strsim::damerau_levenshtein(&typed, &known) <= 1
        });
        if let Some(known) = likely {
            fault = fault.remedy(format!(
                "If it is a reading, name it {known} with its unit, as in static_psi."
            ));
        }
        faults.push(fault);
    }
    faults
}

fn check_header(columns: &[Option<Column>], header: &[String], name: &str, line: u64) -> Result<(), Faults> {
    let mut faults = Faults::new();
    let mut seen: HashSet<String> = HashSet::new();
    for (column, cell) in columns.iter().zip(header) {
        if let Some(column) = column
            && !seen.insert(column.field.name())
        {
            faults.push(
                Fault::new("BW-X43", Severity::Fatal, "two columns tell the same reading")
                    .file(name)
                    .line(line)
                    .column(cell.clone())
                    .remedy("Keep one of them; several heaters or pipes go into one cell with semicolons."),
            );
        }
    }
    if !seen.contains("system_id") {
        faults.push(
            Fault::new("BW-X44", Severity::Fatal, "there is no column system_id")
                .file(name)
                .line(line)
                .expected("system_id, heater_gal, cold_f, hot_f, static_psi and others; any order")
                .remedy("Name the columns so; heater_l, cold_c, static_kpa are read as well."),
        );
    }
    if faults.is_fatal() { Err(faults) } else { Ok(()) }
}

fn reject(row: Row, faults: Vec<Fault>, header: &Arc<Vec<String>>, name: &str) -> Reject {
    Reject {
        line: row.line,
        faults: faults
            .into_iter()
            .map(|mut fault| {
                if fault.severity == Severity::Fatal {
                    fault.severity = Severity::Rejected;
                }
                fault.file(name).line(row.line)
            })
            .collect(),
        header: Arc::clone(header),
        record: row.record,
    }
}

/// Answers one row in the form that is written.
fn answer(row: &Row, batch: &Batch<'_>, units: UnitSystem, format: Format) -> Result<Answered, Faults> {
    let mut system = row.told.read(units)?;
    system.coldest_air_c = batch.coldest_air_c;
    let mut answer = judge(&system, batch.sensitivity)?;
    choose(batch.tanks, &mut answer, &mut Faults::new());
    let (measure, doubtful) = (answer.recommendation.measure, !answer.warnings.is_empty());
    let written = match format {
        Format::Table => Written::Row(table_row(&row.id, &answer, system.tongue(), batch.sensitivity)),
        Format::Csv => {
            let mut cells = expansion_csv::csv_cells_unsaid(&row.id, &answer, system.tongue());
            if batch.sensitivity {
                cells.extend(expansion_csv::turn_cells(&answer));
            }
            cells.extend(row.extra.iter().map(|cell| defuse(cell).into_owned()));
            Written::Cells(cells)
        }
        Format::Json => Written::Json(json_of(row, units, &system, answer)?),
    };
    Ok(Answered {
        measure,
        doubtful,
        written,
    })
}

fn json_of(row: &Row, units: UnitSystem, system: &System, answer: Assessment<Note>) -> Result<String, Faults> {
    #[derive(serde::Serialize)]
    struct One<'a> {
        system_id: &'a str,
        #[serde(flatten)]
        echoed: Echoed<'a>,
    }
    let answer = answer.said(system);
    let one = One {
        system_id: &row.id,
        echoed: Echoed::new(&row.told, units, &answer),
    };
    serde_json::to_string(&one).map_err(|error| Faults::from(json_failed(&error.to_string())))
}

fn json_failed(error: &str) -> Fault {
    Fault::new(
        "BW-O04",
        Severity::Fatal,
        format!("the answers cannot be written as JSON: {error}"),
    )
}

fn csv_failed(error: &str) -> Fault {
    Fault::new("BW-O04", Severity::Fatal, format!("the CSV cannot be written: {error}"))
}

impl Out {
    /// The beginning of what is written; the columns that are not ours are passed through at the end.
    fn begin<'a>(format: Format, turns: bool, unread: impl Iterator<Item = &'a str>) -> Result<Self, Fault> {
        Ok(match format {
            Format::Table => Self::Table(Vec::new()),
            Format::Json => {
                let mut spool = SpooledTempFile::new(SPOOLED_BYTES);
                spool
                    .write_all(b"{\"schema\":\"brimwater.expansion-systems/1\",\"systems\":[")
                    .map_err(|error| json_failed(&error.to_string()))?;
                Self::Json(spool)
            }
            Format::Csv => {
                let turns: &[&str] = if turns { &expansion_csv::TURN_HEADER } else { &[] };
                let ours: Vec<&str> = expansion_csv::CSV_HEADER.iter().chain(turns).copied().collect();
                let header = ours.iter().map(|name| (*name).to_string()).chain(unread.map(|name| {
                    if ours.contains(&name) {
                        format!("listed_{name}")
                    } else {
                        defuse(name).into_owned()
                    }
                }));
                let mut writer = csv::Writer::from_writer(SpooledTempFile::new(SPOOLED_BYTES));
                writer
                    .write_record(header)
                    .map_err(|error| csv_failed(&error.to_string()))?;
                Self::Csv(Box::new(writer))
            }
        })
    }
}

impl Answers {
    /// Adds an answered system to the counts and to what is written.
    fn add(&mut self, answered: Answered) -> Result<(), Fault> {
        let first = self.answered == 0;
        self.answered += 1;
        self.doubtful += usize::from(answered.doubtful);
        *self.measures.entry(answered.measure).or_default() += 1;
        match (&mut self.out, answered.written) {
            (Out::Table(rows), Written::Row(row)) if rows.len() < TABLE_ROWS => rows.push(row),
            (Out::Csv(writer), Written::Cells(cells)) => writer
                .write_record(cells)
                .map_err(|error| csv_failed(&error.to_string()))?,
            (Out::Json(spool), Written::Json(one)) => {
                let comma: &[u8] = if first { b"" } else { b"," };
                spool
                    .write_all(comma)
                    .and_then(|()| spool.write_all(one.as_bytes()))
                    .map_err(|error| json_failed(&error.to_string()))?;
            }
            _ => {}
        }
        Ok(())
    }
}

/// The end of the JSON: the rejected rows.
fn end_json(spool: SpooledTempFile, rejects: &[Reject]) -> Result<SpooledTempFile, Fault> {
    #[derive(serde::Serialize)]
    struct Rejected<'a> {
        line: u64,
        faults: &'a [Fault],
    }
    let rejects: Vec<Rejected<'_>> = rejects
        .iter()
        .map(|reject| Rejected {
            line: reject.line,
            faults: &reject.faults,
        })
        .collect();
    let rejects = serde_json::to_string(&rejects).map_err(|error| json_failed(&error.to_string()))?;
    let mut spool = spool;
    writeln!(spool, "],\"rejects\":{rejects}}}").map_err(|error| json_failed(&error.to_string()))?;
    Ok(spool)
}

/// What the plumber sets, in a few words.
fn to_set(answer: &Assessment<Note>, units: UnitSystem) -> String {
    let gauge = |kpa: f64| show_gauge(kpa * 1e3, units);
    let set = answer.recommendation.steps.iter().filter_map(|step| match step {
        Step::LowerSupply { gauge_kpa, .. } => Some(format!("supply to {}", gauge(*gauge_kpa))),
        Step::FitTank {
            precharge_gauge_kpa, ..
        }
        | Step::SetPrecharge {
            precharge_gauge_kpa, ..
        } => Some(format!("precharge {}", gauge(*precharge_gauge_kpa))),
        Step::FitRelief {
            low_gauge_kpa,
            high_gauge_kpa,
        } => Some(format!(
            "relief from {} to {}",
            gauge(*low_gauge_kpa),
            gauge(*high_gauge_kpa)
        )),
        Step::ShutEnergyOff | Step::TakeOutTank { .. } | Step::MakeRoom { .. } | Step::LookAtLimit => None,
    });
    set.collect::<Vec<_>>().join(", ")
}

fn table_row(id: &str, answer: &Assessment<Note>, tongue: Tongue, turns: bool) -> Vec<String> {
    let units = tongue.units;
    let tank = match &answer.tank.from_catalogue {
        Some(choice) => choice.name.clone(),
        None => answer
            .as_advised
            .tank_volume_l
            .map_or(String::new(), |litre| show_volume_at_least(litre, units)),
    };
    let mut row = vec![
        id.to_string(),
        answer.recommendation.measure.words().to_string(),
        show_volume(answer.expansion.volume_l, units),
        tank,
        to_set(answer, units),
    ];
    if turns {
        row.push(expansion_text::turn_words(answer, tongue));
    }
    row
}

fn systems_table(rows: Vec<Vec<String>>, turns: bool, answered: usize, measures: &BTreeMap<Measure, usize>) -> String {
    let mut table = table::plain();
    let mut header = vec!["system", "do", "water", "tank", "set"];
    if turns {
        header.push("turns at");
    }
    table.set_header(header);
    let more = answered - rows.len();
    for row in rows {
        table.add_row(row);
    }
    let mut text = table::trimmed(&table.to_string()) + "\n";
    if more > 0 {
        text.push_str(&format!("and {more} more; --format csv gives all\n"));
    }
    for (measure, count) in measures {
        text.push_str(&format!("{count:>7} {}\n", measure.words()));
    }
    text
}
