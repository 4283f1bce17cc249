//! What the readers share: rows of a table, numbers, faults that do not flood, and the way from readings to a [`Found`].

use super::{Found, Nature, ReadOptions};
use crate::faults::{Fault, Faults, Severity};
use crate::weather::assemble::{AssembleOptions, RawReading, assemble};
use crate::weather::series::Station;
use chrono::{DateTime, FixedOffset, NaiveDate, NaiveDateTime, TimeDelta, TimeZone, Utc};
use chrono_tz::{OffsetComponents, Tz};
use std::borrow::Cow;
use std::collections::BTreeMap;

/// Coldest air that is believed, °C: the record is −89.2 °C (judgement: with a margin).
pub const COLDEST_C: f64 = -95.0;
/// Warmest air that is believed, °C: the record is 56.7 °C (judgement: with a margin).
pub const WARMEST_C: f64 = 60.0;
/// Metre per second per knot: a knot is 1852 m an hour.
pub const M_S_PER_KNOT: f64 = 1852.0 / 3600.0;
/// Most faults of one code that are told one by one.
const MOST_TOLD: usize = 50;

/// The file that is read, what is known of it, and what was found wrong with it so far.
pub struct Reading<'a> {
    /// Name of the file, for faults.
    pub file_name: &'a str,
    /// What the user said.
    pub options: &'a ReadOptions,
    /// Faults so far.
    pub faults: Faults,
    told: BTreeMap<&'static str, usize>,
}

impl<'a> Reading<'a> {
    /// Nothing read yet.
    pub fn new(file_name: &'a str, options: &'a ReadOptions) -> Self {
        Self {
            file_name,
            options,
            faults: Faults::new(),
            told: BTreeMap::new(),
        }
    }

    /// A fault of this file, to be completed and pushed.
    pub fn fault(&self, code: &'static str, severity: Severity, what: impl Into<String>) -> Fault {
        Fault::new(code, severity, what).file(self.file_name)
    }

    /// Keeps a fault, the first fifty of its code in full and the rest as a count.
    pub fn push(&mut self, fault: Fault) {
        let count = self.told.entry(fault.code).or_insert(0);
        *count += 1;
        if *count <= MOST_TOLD {
            self.faults.push(fault);
        }
    }

    /// A row that cannot be used (`BW-S32`).
    pub fn bad_row(&mut self, line: u64, column: &str, value: &str, expected: &str) {
        let fault = self
            .fault("BW-S32", Severity::Rejected, "this cannot be read")
            .line(line)
            .column(column)
            .value(value)
            .expected(expected)
            .remedy("The row was not used.");
        self.push(fault);
    }

    /// A table of this file; stray quotation marks in it are told (`BW-I08`).
    pub fn table<'t>(&mut self, text: &'t str, delimiter: u8, first_line: u64) -> Table<'t> {
        let table = Table::open(text, delimiter, first_line);
        if let Some((line, count)) = table.stray {
            let fault = self
                .fault(
                    "BW-I08",
                    Severity::Warning,
                    format!("{count} lines have a quotation mark that nothing closes"),
                )
                .line(line + first_line.saturating_sub(1))
                .expected("quotation marks in pairs around a cell")
                .remedy(
                    "Take the mark out. The lines were read without it, and the lines after them as rows of their own.",
                );
            self.push(fault);
        }
        table
    }

    /// All faults, with the counts of those not told one by one.
    pub fn finish(mut self) -> Faults {
        for (code, count) in &self.told {
            if *count > MOST_TOLD {
                let severity = self
                    .faults
                    .0
                    .iter()
                    .find(|fault| fault.code == *code)
                    .map(|fault| fault.severity);
                self.faults.push(
                    Fault::new(
                        code,
                        severity.unwrap_or(Severity::Rejected),
                        format!("{} more like these", count - MOST_TOLD),
                    )
                    .file(self.file_name),
                );
            }
        }
        self.faults
    }

    /// Assembles readings into the series of a station.
    pub fn hourly(
        &mut self,
        format: &'static str,
        station: Station,
        readings: Vec<RawReading>,
        issued: Option<DateTime<Utc>>,
        nature: Nature,
    ) -> Found {
        let mut how = AssembleOptions::new(format, self.file_name);
        how.allow_gaps = self.options.allow_gaps;
        how.issued = issued;
        let (series, report, told) = assemble(station.clone(), readings, &how);
        self.faults.append(told);
        Found {
            station,
            series,
            report,
            daily: None,
            nature,
            told: None,
        }
    }

    /// The fixed offset of a station that keeps standard time all year: the zone's, or else that of its longitude, which is
    /// told (`BW-S37`); a fault `BW-S03` when neither is known.
    pub fn standard_offset(&mut self, station_id: &str, longitude_deg: Option<f64>) -> Option<FixedOffset> {
        if let Some(zone) = self.options.zone_of(station_id) {
            return FixedOffset::east_opt(standard_offset_s(zone));
        }
        if let Some(longitude) = longitude_deg.filter(|value| value.abs() <= 180.0) {
            let hours = (longitude / 15.0).round() as i32;
            let note = self
                .fault(
                    "BW-S37",
                    Severity::Note,
                    format!(
                        "times are in the station's standard time; {hours:+} h from UTC was taken from its longitude"
                    ),
                )
                .remedy("Give --zone if that is not the station's zone.");
            self.push(note);
            return FixedOffset::east_opt(hours * 3600);
        }
        let fault = self
            .fault(
                "BW-S03",
                Severity::Fatal,
                "times are in the station's standard time, and neither its zone nor its longitude is known",
            )
            .expected("--zone with the name of the time zone, such as America/Chicago");
        self.push(fault);
        None
    }
}

/// Seconds by which a zone's standard time is ahead of UTC, at the end of its winter of 2001.
pub fn standard_offset_s(zone: Tz) -> i32 {
    let winter = NaiveDate::from_ymd_opt(2001, 1, 15).and_then(|date| date.and_hms_opt(0, 0, 0));
    winter.map_or(0, |winter| {
        let offset = zone.offset_from_utc_datetime(&winter);
        i32::try_from(offset.base_utc_offset().num_seconds()).unwrap_or(0)
    })
}

/// An instant from standard time and its fixed offset; `None` outside the calendar.
pub fn at_offset(local: NaiveDateTime, offset: FixedOffset) -> Option<DateTime<Utc>> {
    local
        .checked_sub_signed(TimeDelta::seconds(i64::from(offset.local_minus_utc())))
        .map(|utc| utc.and_utc())
}

/// A finite number, or nothing.
pub fn number(text: &str) -> Option<f64> {
    text.trim().parse::<f64>().ok().filter(|value| value.is_finite())
}

/// Whether an air temperature can be.
pub fn believed(air_c: f64) -> bool {
    (COLDEST_C..=WARMEST_C).contains(&air_c)
}

/// A reading with an air temperature that is set aside when it cannot be.
pub fn reading(mut reading: RawReading) -> RawReading {
    if let Some(air) = reading.air_c
        && !believed(air)
        && reading.set_aside.is_none()
    {
        reading.set_aside = Some(format!("outside {COLDEST_C:.0} to {WARMEST_C:.0} °C"));
    }
    reading.dew_point_c = reading.dew_point_c.filter(|dew| believed(*dew));
    reading.wind_m_s = reading.wind_m_s.filter(|wind| (0.0..=115.0).contains(wind));
    reading.sky_cover = reading.sky_cover.filter(|cover| (0.0..=1.0).contains(cover));
    reading
}

/// The bytes as text: a byte-order mark is dropped, bytes that are no UTF-8 become replacement characters.
pub fn text_of(bytes: &[u8]) -> std::borrow::Cow<'_, str> {
    String::from_utf8_lossy(bytes.strip_prefix(b"\xEF\xBB\xBF").unwrap_or(bytes))
}

/// The first lines of a file as text, at most 16 KiB, for recognising it.
pub fn head_of(bytes: &[u8]) -> std::borrow::Cow<'_, str> {
    text_of(bytes.get(..16 * 1024).unwrap_or(bytes))
}

/// Text without the quotation marks of lines that have an odd number of them: a mark that nothing closes would swallow the rows below it.
/// Cells of these formats never go over several lines. With the first such line, counted from 1, and how many there are.
fn mended(text: &str, delimiter: u8) -> (Cow<'_, [u8]>, Option<(u64, u64)>) {
    let odd = |line: &str| line.bytes().filter(|byte| *byte == b'"').count() % 2 == 1;
    let mut stray: Option<(u64, u64)> = None;
    for (at, line) in text.split('\n').enumerate() {
        if odd(line) {
            stray = Some(stray.map_or((at as u64 + 1, 1), |(first, count)| (first, count + 1)));
        }
    }
    if stray.is_none() {
        return (Cow::Borrowed(text.as_bytes()), None);
    }
    let columns = cells_of(text.lines().next().unwrap_or(""), delimiter);
    let mut out = Vec::with_capacity(text.len());
    for line in text.split_inclusive('\n') {
        if odd(line) {
            out.extend(without_stray(line, columns, delimiter).bytes());
        } else {
            out.extend(line.bytes());
        }
    }
    (Cow::Owned(out), stray)
}

/// How many cells a line has.
fn cells_of(line: &str, delimiter: u8) -> usize {
    let mut rows = csv::ReaderBuilder::new()
        .has_headers(false)
        .flexible(true)
        .delimiter(delimiter)
        .from_reader(line.as_bytes());
    let mut record = csv::StringRecord::new();
    let whole = rows.read_record(&mut record).unwrap_or(false) && record.iter().all(|cell| !cell.contains('"'));
    if whole { record.len() } else { 0 }
}

/// A line without the one mark whose going gives as many cells as the header has, else without any.
fn without_stray(line: &str, columns: usize, delimiter: u8) -> String {
    const MOST_TRIED: usize = 64;
    line.match_indices('"')
        .take(MOST_TRIED)
        .map(|(at, _)| format!("{}{}", line.get(..at).unwrap_or(""), line.get(at + 1..).unwrap_or("")))
        .find(|tried| cells_of(tried, delimiter) == columns)
        .unwrap_or_else(|| line.replace('"', ""))
}

/// A table with named columns.
pub struct Table<'t> {
    columns: BTreeMap<String, usize>,
    rows: csv::Reader<std::io::Cursor<Cow<'t, [u8]>>>,
    /// First line with a stray quotation mark, and how many lines have one.
    stray: Option<(u64, u64)>,
    record: csv::StringRecord,
    first_line: u64,
    /// One-based line of the current row.
    pub line: u64,
}

impl<'t> Table<'t> {
    /// A table whose header is the first line of `text`, which is line `first_line` of the file. Names are compared in lower case.
    pub fn open(text: &'t str, delimiter: u8, first_line: u64) -> Self {
        let (text, stray) = mended(text, delimiter);
        let mut rows = csv::ReaderBuilder::new()
            .has_headers(false)
            .flexible(true)
            .delimiter(delimiter)
            .trim(csv::Trim::All)
            .from_reader(std::io::Cursor::new(text));
        let mut record = csv::StringRecord::new();
        let mut columns = BTreeMap::new();
        if rows.read_record(&mut record).unwrap_or(false) {
            for (at, name) in record.iter().enumerate() {
                columns.entry(name.to_ascii_lowercase()).or_insert(at);
            }
        }
        Self {
            columns,
            rows,
            stray,
            record,
            first_line,
            line: first_line,
        }
    }

    /// Whether the header has this column, in lower case.
    pub fn has(&self, name: &str) -> bool {
        self.columns.contains_key(name)
    }

    /// Takes the next row; blank lines are passed over.
    pub fn next_row(&mut self) -> bool {
        // Text is UTF-8 and the reader is flexible, so that a failure can only be the end.
        let more = self.rows.read_record(&mut self.record).unwrap_or(false);
        if more {
            self.line =
                self.record.position().map_or(self.line, csv::Position::line) + self.first_line.saturating_sub(1);
        }
        more
    }

    /// Cell of the current row; empty when the column or the cell is missing.
    pub fn cell(&self, name: &str) -> &str {
        self.columns.get(name).and_then(|at| self.record.get(*at)).unwrap_or("")
    }

    /// Cell of the current row by position.
    pub fn at(&self, index: usize) -> &str {
        self.record.get(index).unwrap_or("")
    }
}
