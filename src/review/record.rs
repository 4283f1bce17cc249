//! The filled record form: one row a visit.

use super::row::{Contact, State};
use crate::faults::{Fault, Faults, Severity};
use crate::inventory::dates::{self, Dated, Order};
use chrono::NaiveDate;

/// A filled row.
#[derive(Debug, Clone, PartialEq)]
pub struct Filled {
    /// Line in the file.
    pub line: u64,
    /// Name of the spell.
    pub event: String,
    /// Identity of the plan that wrote the form; empty on forms from before it was kept.
    pub plan_id: String,
    /// The assembly.
    pub assembly_id: String,
    /// Day of the visit.
    pub date: Option<NaiveDate>,
    /// Hour of the visit as written, or empty.
    pub hour: String,
    /// Whether ice was seen; `None` where nobody looked for it.
    pub ice: Option<bool>,
    /// Who looked, by name.
    pub inspector: String,
    /// What is damaged and how, and the note, for people.
    pub found: String,
    /// Chance that it was to be looked at.
    pub inclusion: Option<f64>,
    /// Whether the form says that it had to be looked at: drawn at random, or all of a list.
    pub by_design: bool,
    /// What is known.
    pub state: State,
    /// Drained before the spell.
    pub drained: bool,
    /// Whether a measure was in place.
    pub protected: Option<bool>,
    /// What came of the notice.
    pub contact: Contact,
    /// Whether it stands bare.
    pub bare: Option<bool>,
}

/// Columns without which a table is no record form.
pub const NEEDED: [&str; 2] = ["assembly_id", "damage_part"];

/// The rows of a filled form, and its faults. A blank row is an assembly that nobody looked at.
///
/// Faults: `BW-R01` it is no table, `BW-R12` it is no record form (fatal), `BW-R13` a cell of words, numbers or dates cannot be read and
/// its row was set aside, `BW-R14` a half-filled row: it was counted as looked at without a clear answer, `BW-R16` dates that can be read two
/// ways: read as the other dates of the form show (note), or month first where none does (warning).
pub fn read(text: &str, file: &str) -> (Vec<Filled>, Faults) {
    let mut faults = Faults::new();
    let mut reader = csv::ReaderBuilder::new()
        .flexible(true)
        .from_reader(text.trim_start_matches('\u{feff}').as_bytes());
    let header: Vec<String> = match reader.headers() {
        Ok(header) => header.iter().map(|column| column.trim().to_lowercase()).collect(),
        Err(error) => {
            faults.push(
                Fault::new("BW-R01", Severity::Fatal, format!("this is no table: {error}"))
                    .file(file)
                    .expected("comma-separated values with a header line")
                    .remedy("Save the sheet as CSV."),
            );
            return (Vec::new(), faults);
        }
    };
    for needed in NEEDED
        .iter()
        .filter(|needed| !header.iter().any(|column| column == *needed))
    {
        faults.push(
            Fault::new("BW-R12", Severity::Fatal, "this is no record form: a column is missing")
                .file(file)
                .column(*needed)
                .expected("inspection_record.csv as the plan after the spell writes it")
                .remedy("Fill the form that the plan wrote, or give your own table with --rows."),
        );
    }
    if !faults.0.is_empty() {
        return (Vec::new(), faults);
    }
    let mut found = Vec::new();
    let mut order = Order::default();
    let mut either: Vec<(usize, u64, Dated)> = Vec::new();
    for (index, record) in reader.records().enumerate() {
        match record {
            Ok(record) => {
                let line = record.position().map_or(index as u64 + 2, csv::Position::line);
                let cell = |name: &str| {
                    header
                        .iter()
                        .position(|column| column == name)
                        .and_then(|at| record.get(at))
                        .unwrap_or("")
                        .trim()
                };
                let before = faults
                    .0
                    .iter()
                    .filter(|fault| fault.severity == Severity::Rejected)
                    .count();
                let row = filled(&cell, line, file, &mut faults);
                let after = faults
                    .0
                    .iter()
                    .filter(|fault| fault.severity == Severity::Rejected)
                    .count();
                if before == after {
                    if let Some(date) = dates::parse(cell("date")) {
                        order.see(date);
                        if matches!(date, Dated::Either { .. }) {
                            either.push((found.len(), line, date));
                        }
                    }
                    found.push(row);
                }
            }
            Err(error) => faults.push(
                Fault::new(
                    "BW-R13",
                    Severity::Rejected,
                    format!("this line cannot be read: {error}"),
                )
                .file(file)
                .line(index as u64 + 2)
                .remedy("Correct the line; it was set aside."),
            ),
        }
    }
    if let Some((_, line, _)) = either.first() {
        let severity = if order.is_shown() {
            Severity::Note
        } else {
            Severity::Warning
        };
        faults.push(
            Fault::new("BW-R16", severity, order.told(either.len(), *line))
                .file(file)
                .line(*line)
                .column("date")
                .expected("a date such as 2031-01-12")
                .remedy("Write dates as 2031-01-12: the day decides which night a look is weighed against."),
        );
    }
    for (at, _, date) in either {
        if let Some(row) = found.get_mut(at) {
            let row: &mut Filled = row;
            row.date = Some(order.read(date));
        }
    }
    (found, faults)
}

fn filled<'r>(cell: &dyn Fn(&str) -> &'r str, line: u64, file: &str, faults: &mut Faults) -> Filled {
    let mut aside = |column: &str, what: &str, expected: &str| {
        faults.push(
            Fault::new("BW-R13", Severity::Rejected, what)
                .file(file)
                .line(line)
                .column(column)
                .value(cell(column))
                .expected(expected)
                .remedy("Correct the cell; the row was set aside."),
        );
    };
    if cell("assembly_id").is_empty() {
        aside("assembly_id", "the identifier is blank", "the assembly's identifier");
    }
    let date = cell("date");
    // What can be read two ways is settled when all rows are known.
    let day = dates::parse(date).map(|date| Order::default().read(date));
    if !date.is_empty() && day.is_none() {
        aside(
            "date",
            "this date cannot be read",
            "a date such as 2031-01-12, or as a spreadsheet writes it",
        );
    }
    // A spreadsheet may put both into one cell.
    let hour = match cell("hour") {
        "" => dates::time_of_day(date),
        hour => hour,
    };
    let inclusion = cell("inclusion_probability");
    let share = inclusion
        .parse::<f64>()
        .ok()
        .filter(|share| *share > 0.0 && *share <= 1.0);
    if !inclusion.is_empty() && share.is_none() {
        aside(
            "inclusion_probability",
            "this is no chance",
            "a number above 0, to 1, as the form was written",
        );
    }
    let word = |column: &str| cell(column).to_lowercase();
    let told = word("state");
    let part = word("damage_part");
    let severity = word("severity");
    let visited = !date.is_empty() || !word("inspected_by").is_empty();
    let reported = matches!(word("how_found").as_str(), "call" | "leak report" | "meter reading")
        && matches!(word("inspected_by").as_str(), "" | "customer");
    let damaged = !matches!(part.as_str(), "" | "none") || !matches!(severity.as_str(), "" | "none");
    let state = match told.as_str() {
        "" if damaged && reported => State::Reported,
        "" if damaged => State::Damaged,
        "" if part == "none" || severity == "none" => State::Whole,
        "" if visited => State::CannotTell,
        "" => State::NotLooked,
        other => State::read(other).unwrap_or_else(|| {
            aside(
                "state",
                "this is not one of the six states",
                "damaged; no damage; reported damaged, not looked at; not looked at; looked at, cannot tell; not exposed",
            );
            State::NotLooked
        }),
    };
    if matches!(state, State::Whole) && damaged {
        aside(
            "state",
            "the state says no damage, yet a damaged part or a severity is named",
            "one of the two",
        );
    }
    if told.is_empty() && state == State::CannotTell {
        faults.push(
            Fault::new(
                "BW-R14",
                Severity::Warning,
                "this form is half filled: visited, but nothing is said of damage",
            )
            .file(file)
            .line(line)
            .expected("a state, or `none` as damaged part when all is whole")
            .remedy("It was counted as looked at without a clear answer."),
        );
    }
    let acted = word("action_taken_on_notice");
    let yes = |column: &str| matches!(word(column).as_str(), "yes" | "1");
    Filled {
        line,
        event: cell("event").to_owned(),
        plan_id: cell("plan_id").to_owned(),
        assembly_id: cell("assembly_id").to_owned(),
        date: day,
        hour: hour.to_owned(),
        ice: match word("ice").as_str() {
            "yes" => Some(true),
            "no" => Some(false),
            _ => None,
        },
        inspector: cell("inspector_name").to_owned(),
        found: [cell("damage_part"), cell("severity"), cell("note")]
            .into_iter()
            .filter(|text| !text.is_empty() && !text.eq_ignore_ascii_case("none"))
            .collect::<Vec<_>>()
            .join(", "),
        inclusion: share,
        // Forms from before the random part was kept: only what was drawn at random is a sample.
        by_design: yes("must_look") || yes("drawn_at_random"),
        state,
        drained: yes("drained_before"),
        protected: match acted.as_str() {
            "drained" | "wrapped" | "heat kept" | "left the drip" => Some(true),
            "nothing" | "no notice received" => Some(false),
            _ => None,
        },
        contact: cell("notice_received")
            .split_whitespace()
            .next()
            .and_then(Contact::read)
            .unwrap_or(Contact::None),
        bare: match word("exposure").as_str() {
            "" => None,
            "bare" => Some(true),
            _ => Some(false),
        },
    }
}
