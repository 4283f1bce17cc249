//! The filled inspection record: what testers enter on the desk's pages.
//!
//! It is a file of the desk's own beside the plan's folder, not in it: a plan that is made again takes the folder's place whole, and must
//! neither take what was found along nor be kept from its place by it. It holds the whole form, blank rows too, with the columns of
//! `inspection_record.csv`, so that whoever reads a form filled by hand reads it. The file is the only memory: it is read before each
//! answer and each change, so that desks beside each other, and a person with a spreadsheet, lose nothing of each other's.

use crate::faults::{Fault, Severity};
use crate::input::{file, plain};
use crate::output::defuse::defuse;
use crate::output::safe::write_private_file;
use crate::review::record::{Filled, NEEDED, read};
use sha2::{Digest, Sha256};
use std::collections::{BTreeMap, BTreeSet};
use std::fs::{self, File};
use std::path::{Path, PathBuf};
use std::sync::{Mutex, MutexGuard, PoisonError};

/// The form that a plan after the spell writes.
const FORM: &str = "inspection_record.csv";
/// What the name of the plan's folder is followed by.
const FILLED: &str = "-inspection_record_filled.csv";
/// Columns that say that somebody has entered something; the plan writes none of them.
const ENTERED: [&str; 6] = ["state", "damage_part", "severity", "date", "inspected_by", "ice"];
/// Columns that make one entry another one, beside those.
const BESIDE: [&str; 3] = ["hour", "inspector_name", "note"];

/// The record of the plans that the desk was opened with.
pub struct Record {
    plans: Vec<PathBuf>,
    /// Held while the file is read and written anew.
    turn: Mutex<()>,
    /// Held while a review is made.
    review: Mutex<()>,
}

/// A table whose rows are as long as its header.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Table {
    header: Vec<String>,
    rows: Vec<Vec<String>>,
}

/// The form with what was entered.
#[derive(Debug, Clone)]
pub struct Sheet {
    table: Table,
    /// Rows of the form that the plan wrote; what follows them was entered for an earlier one.
    of_form: usize,
    /// Where what is entered goes.
    pub place: PathBuf,
    /// What the readers of a filled form make of each row; nothing where they set it aside.
    filled: Vec<Option<Filled>>,
    plan_id: String,
}

/// One assembly of the form.
#[derive(Debug, Clone, Copy)]
pub struct Visit<'a> {
    sheet: &'a Sheet,
    at: usize,
}

/// What came of a change.
#[derive(Debug, Clone, PartialEq)]
pub enum Saved {
    /// It is written and on the disk.
    Written,
    /// It stands there already: the same form was sent twice.
    Already,
    /// Somebody else entered something about the assembly meanwhile; nothing was written.
    Meanwhile,
    /// The form no longer has the assembly.
    Gone,
}

impl Table {
    /// Reads a form; a file that is none is never written over.
    fn read(path: &Path) -> Result<Self, Fault> {
        let name = file::shown(path);
        let bytes = file::read_whole(path)?;
        // What is told of a row's marks is told by whoever reviews the file.
        let (bytes, _) = plain(&bytes, &name, &|cell| NEEDED.contains(&cell))?;
        let unread = |what: String| {
            Fault::new("BW-D35", Severity::Fatal, format!("this record cannot be read: {what}"))
                .file(name.clone())
                .expected("inspection_record.csv as the plan after the spell writes it")
                .remedy("Put the file right or move it away; it was not touched.")
        };
        let mut reader = csv::ReaderBuilder::new().flexible(true).from_reader(bytes.as_slice());
        let header: Vec<String> = reader
            .headers()
            .map_err(|error| unread(error.to_string()))?
            .iter()
            .map(|column| column.trim().to_lowercase())
            .collect();
        if let Some(missing) = NEEDED
            .iter()
            .find(|needed| !header.iter().any(|column| column == *needed))
        {
            return Err(unread(format!("it has no column {missing}")));
        }
        let mut rows = Vec::new();
        for record in reader.records() {
            let record = record.map_err(|error| unread(error.to_string()))?;
            let mut row: Vec<String> = record.iter().map(str::to_owned).collect();
            if row.iter().skip(header.len()).any(|cell| !cell.trim().is_empty()) {
                return Err(unread("a row has more cells than the header".to_owned()));
            }
            row.resize(header.len(), String::new());
            rows.push(row);
        }
        Ok(Self { header, rows })
    }

    fn column(&self, name: &str) -> Option<usize> {
        self.header.iter().position(|column| column == name)
    }

    fn cell(&self, row: usize, column: &str) -> &str {
        let cell = self.column(column).and_then(|at| self.rows.get(row)?.get(at));
        cell.map_or("", |cell| cell.trim())
    }

    fn key(&self, row: usize) -> (String, String) {
        (
            self.cell(row, "event").to_owned(),
            self.cell(row, "assembly_id").to_owned(),
        )
    }

    fn is_entered(&self, row: usize) -> bool {
        ENTERED.iter().any(|column| !self.cell(row, column).is_empty())
    }

    /// Adds a column where there is none.
    fn with_column(&mut self, name: &str) -> usize {
        self.column(name).unwrap_or_else(|| {
            self.header.push(name.to_owned());
            self.rows.iter_mut().for_each(|row| row.push(String::new()));
            self.header.len() - 1
        })
    }

    /// A row with its cells under the columns of another table.
    fn under(&self, row: usize, header: &[String]) -> Vec<String> {
        header.iter().map(|column| self.cell(row, column).to_owned()).collect()
    }

    /// The form with the entries of the filled file in the place of its blank rows; entries of assemblies or spells that the form does not
    /// hold stand behind them. How many rows are the form's.
    fn joined(form: Option<Table>, filled: Option<Table>) -> (Table, usize) {
        let (Some(mut form), Some(mut filled)) = (form.clone(), filled.clone()) else {
            let one = form.or(filled).unwrap_or_default();
            let rows = one.rows.len();
            return (one, rows);
        };
        filled.header.iter().for_each(|column| {
            form.with_column(column);
        });
        form.header.iter().for_each(|column| {
            filled.with_column(column);
        });
        let entries: BTreeMap<(String, String), usize> = (0..filled.rows.len())
            .filter(|row| filled.is_entered(*row))
            .map(|row| (filled.key(row), row))
            .collect();
        let mut placed = BTreeSet::new();
        for row in 0..form.rows.len() {
            let key = form.key(row);
            if let Some(entry) = entries.get(&key) {
                form.rows[row] = filled.under(*entry, &form.header);
                placed.insert(key);
            }
        }
        let of_form = form.rows.len();
        for (key, entry) in entries {
            if !placed.contains(&key) {
                let row = filled.under(entry, &form.header);
                form.rows.push(row);
            }
        }
        (form, of_form)
    }

    fn bytes(&self) -> Result<Vec<u8>, csv::Error> {
        let mut csv = csv::Writer::from_writer(Vec::new());
        csv.write_record(&self.header)?;
        for row in &self.rows {
            csv.write_record(row)?;
        }
        csv.into_inner().map_err(|error| error.into_error().into())
    }

    /// A short mark of what is entered in a row: another entry has another one.
    fn mark(&self, row: usize) -> String {
        let mut digest = Sha256::new();
        for column in ENTERED.iter().chain(&BESIDE) {
            digest.update(self.cell(row, column).as_bytes());
            digest.update(b"\0");
        }
        let digest: [u8; 32] = digest.finalize().into();
        super::sessions::hex(&digest[..8])
    }
}

fn filled_place(plan: &Path) -> Option<PathBuf> {
    let named = |path: &Path| {
        let mut name = path.file_name()?.to_os_string();
        name.push(FILLED);
        Some(path.with_file_name(name))
    };
    named(plan).or_else(|| named(&fs::canonicalize(plan).ok()?))
}

impl Record {
    /// The record of these plans; nothing where none was named.
    ///
    /// # Errors
    /// `BW-D34` a place that holds no plan's folder.
    pub fn open(plans: &[PathBuf]) -> Result<Option<Self>, Fault> {
        for plan in plans {
            if !plan.is_dir() || filled_place(plan).is_none() {
                return Err(Fault::new("BW-D34", Severity::Fatal, "there is no plan's folder here")
                    .file(file::shown(plan))
                    .column("--plan")
                    .expected("a folder that `plan --out` wrote")
                    .remedy("Name the folder, or leave --plan out."));
            }
        }
        let some = !plans.is_empty();
        Ok(some.then(|| Self {
            plans: plans.to_vec(),
            turn: Mutex::default(),
            review: Mutex::default(),
        }))
    }

    /// The plans in the order named.
    pub fn plans(&self) -> &[PathBuf] {
        &self.plans
    }

    /// The files that were filled beside the plans, those that are there.
    pub fn filled(&self) -> Vec<PathBuf> {
        let places = self.plans.iter().filter_map(|plan| filled_place(plan));
        places.filter(|place| place.is_file()).collect()
    }

    /// A turn at making a review.
    pub fn review_turn(&self) -> MutexGuard<'_, ()> {
        self.review.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// The last of the plans that has a form; else one whose form was entered before.
    fn plan(&self) -> Option<&PathBuf> {
        let has_form = |plan: &&PathBuf| plan.join(FORM).is_file();
        let has_filled = |plan: &&PathBuf| filled_place(plan).is_some_and(|place| place.is_file());
        let mut last = self.plans.iter().rev();
        last.find(has_form).or_else(|| self.plans.iter().rev().find(has_filled))
    }

    /// The form as it stands now; nothing where no plan has one.
    ///
    /// # Errors
    /// A form or a filled file that cannot be read.
    pub fn sheet(&self) -> Result<Option<Sheet>, Fault> {
        let Some((form, place)) = self
            .plan()
            .and_then(|plan| Some((plan.join(FORM), filled_place(plan)?)))
        else {
            return Ok(None);
        };
        let there = |path: &Path| path.is_file().then(|| Table::read(path)).transpose();
        let form = there(&form)?;
        let plan_id = form.as_ref().map_or("", |form| form.cell(0, "plan_id")).to_owned();
        // A link would be written over, not what it leads to.
        if fs::symlink_metadata(&place).is_ok_and(|meta| !meta.is_file()) {
            return Err(Fault::new(
                "BW-D35",
                Severity::Fatal,
                "a link, folder or device stands where the filled record goes",
            )
            .file(file::shown(&place))
            .remedy("Move it away; it was not touched."));
        }
        let (table, of_form) = Table::joined(form, there(&place)?);
        let bytes = table.bytes().map_err(|error| unwritten(&place, &error.to_string()))?;
        let text = String::from_utf8_lossy(&bytes);
        let (told, _) = read(&text, "");
        // Rows are found again by the line on which they begin; a note may hold several.
        let mut lines = BTreeMap::new();
        let mut reader = csv::ReaderBuilder::new().flexible(true).from_reader(text.as_bytes());
        for (row, record) in reader.records().enumerate() {
            let line = record
                .ok()
                .and_then(|record| record.position().map(csv::Position::line));
            if let Some(line) = line {
                lines.insert(line, row);
            }
        }
        let mut filled = vec![None; table.rows.len()];
        for one in told {
            if let Some(slot) = lines.get(&one.line).and_then(|row| filled.get_mut(*row)) {
                *slot = Some(one);
            }
        }
        Ok(Some(Sheet {
            table,
            of_form,
            place,
            filled,
            plan_id,
        }))
    }

    /// Puts what was entered about an assembly into the file, whole and on the disk, unless somebody else was first: `stood` is the mark
    /// of what the person saw when beginning.
    ///
    /// # Errors
    /// A file that cannot be read or written; then it is as it was.
    pub fn save(&self, id: &str, stood: &str, cells: &[(&str, String)]) -> Result<Saved, Fault> {
        let _turn = self.turn.lock().unwrap_or_else(PoisonError::into_inner);
        let Some(place) = self.plan().and_then(|plan| filled_place(plan)) else {
            return Ok(Saved::Gone);
        };
        let _beside = beside(&place);
        let Some(mut sheet) = self.sheet()? else {
            return Ok(Saved::Gone);
        };
        let Some(at) = sheet.visit(id).map(|visit| visit.at) else {
            return Ok(Saved::Gone);
        };
        let table = &mut sheet.table;
        let cells: Vec<(&str, String)> = cells
            .iter()
            .map(|(column, text)| (*column, defuse(text).into_owned()))
            .collect();
        if table.mark(at) != stood {
            // The hour is the desk's, not the person's: a form that comes again comes later.
            let mut all = cells.iter().filter(|(column, _)| *column != "hour");
            let same = all.all(|(column, text)| table.cell(at, column) == text.trim());
            return Ok(if same { Saved::Already } else { Saved::Meanwhile });
        }
        for (column, text) in cells {
            let column = table.with_column(column);
            if let Some(cell) = table.rows.get_mut(at).and_then(|row| row.get_mut(column)) {
                *cell = text;
            }
        }
        let bytes = table.bytes().map_err(|error| unwritten(&place, &error.to_string()))?;
        write_private_file(&place, &bytes)?;
        Ok(Saved::Written)
    }
}

fn unwritten(place: &Path, what: &str) -> Fault {
    Fault::new(
        "BW-D35",
        Severity::Fatal,
        format!("the filled record cannot be written: {what}"),
    )
    .file(file::shown(place))
}

/// Keeps desks beside each other from writing at once: the folder is held, which leaves no file behind. Where the system or the disk has no
/// such thing, the turn within the desk stands alone.
fn beside(place: &Path) -> Option<File> {
    let parent = place.parent().filter(|parent| !parent.as_os_str().is_empty());
    let folder = File::open(parent.unwrap_or(Path::new("."))).ok()?;
    folder.lock().ok()?;
    Some(folder)
}

impl Sheet {
    /// The assemblies of the form, those that must be looked at first, else in its order.
    pub fn visits(&self) -> Vec<Visit<'_>> {
        let mut visits: Vec<Visit<'_>> = (0..self.of_form).map(|at| Visit { sheet: self, at }).collect();
        visits.sort_by_key(|visit| !visit.must_look());
        visits
    }

    /// The row of an assembly.
    pub fn visit(&self, id: &str) -> Option<Visit<'_>> {
        let at = (0..self.of_form).find(|at| self.table.cell(*at, "assembly_id") == id)?;
        Some(Visit { sheet: self, at })
    }

    /// Entries that are kept in the file and are none of this form's: of another spell, or of assemblies that it no longer holds.
    pub fn of_others(&self) -> usize {
        self.table.rows.len() - self.of_form
    }

    /// Entries of this form's assemblies that were made for an earlier plan: a review needs that plan as well.
    pub fn of_earlier_plan(&self) -> usize {
        let of_earlier = |at: &usize| {
            let own = self.table.cell(*at, "plan_id");
            self.table.is_entered(*at) && !self.plan_id.is_empty() && own != self.plan_id
        };
        (0..self.of_form).filter(of_earlier).count()
    }
}

impl<'a> Visit<'a> {
    /// A cell of the row.
    pub fn cell(&self, column: &str) -> &'a str {
        self.sheet.table.cell(self.at, column)
    }

    /// The assembly.
    pub fn id(&self) -> &'a str {
        self.cell("assembly_id")
    }

    /// Whether the plan says that it must be looked at.
    pub fn must_look(&self) -> bool {
        self.cell("must_look").eq_ignore_ascii_case("yes")
    }

    /// What the review will read; nothing where it sets the row aside.
    pub fn filled(&self) -> Option<&'a Filled> {
        self.sheet.filled.get(self.at)?.as_ref()
    }

    /// Whether somebody entered something that the review does not set aside.
    pub fn is_looked_at(&self) -> bool {
        let looked = |filled: &Filled| filled.state != crate::review::State::NotLooked;
        self.filled().is_some_and(looked)
    }

    /// Whether something is entered.
    pub fn is_entered(&self) -> bool {
        self.sheet.table.is_entered(self.at)
    }

    /// The mark of what is entered.
    pub fn mark(&self) -> String {
        self.sheet.table.mark(self.at)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn table(text: &str) -> Table {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("form.csv");
        fs::write(&path, text).unwrap();
        Table::read(&path).unwrap()
    }

    /// Catches: entries of an earlier spell thrown away or shown as this one's; blank rows of an earlier form carried on; columns mixed up
    /// where the forms have them in another order.
    #[test]
    fn entries_of_earlier_forms_are_kept_and_stand_behind() {
        let form = table("event,assembly_id,damage_part,state,lowest_air_f\nnew,A-1,,,10\nnew,A-2,,,11\n");
        let filled = table(
            "assembly_id,event,state,damage_part,lowest_air_c\nA-2,new,damaged,bonnet,-11\nA-1,old,no damage,none,-9\nA-3,old,,,-8\nA-1,new,,,-12\n",
        );
        let (all, of_form) = Table::joined(Some(form), Some(filled));
        assert_eq!((of_form, all.rows.len()), (2, 3));
        let cells = |row: usize| {
            [
                "event",
                "assembly_id",
                "state",
                "damage_part",
                "lowest_air_f",
                "lowest_air_c",
            ]
            .map(|column| all.cell(row, column).to_owned())
        };
        assert_eq!(cells(0), ["new", "A-1", "", "", "10", ""]);
        assert_eq!(cells(1), ["new", "A-2", "damaged", "bonnet", "", "-11"]);
        assert_eq!(cells(2), ["old", "A-1", "no damage", "none", "", "-9"]);
    }
}
