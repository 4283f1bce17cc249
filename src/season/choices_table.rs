//! A flat table of what may be offered: one row an assembly, a cost and a benefit a measure.

use super::choice::{Item, Offer};
use crate::faults::{Fault, Faults, Severity};
use std::collections::{BTreeMap, BTreeSet};

/// Largest sum of money that is taken, US dollars (judgement: no programme spends more, and sums stay exact).
pub const MOST_USD: f64 = 1e12;

/// What the table held.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct ChoicesTable {
    /// Words of the measures, in the order of their cost columns.
    pub measures: Vec<String>,
    /// The rows.
    pub items: Vec<Item>,
}

/// The measure that stands for none: its columns are read over.
const NO_MEASURE: &str = "none";

struct Columns {
    id: usize,
    district: Option<usize>,
    class: Option<usize>,
    critical: Option<usize>,
    /// Measure, cost column, benefit column.
    offers: Vec<(String, usize, usize)>,
}

/// Reads the table from its bytes.
///
/// Faults: `BW-B03` a column is missing (fatal), `BW-B04` a cell cannot be used (the row is set aside), `BW-B05` an identifier comes twice
/// (the later row is set aside), `BW-B06` nothing to choose from (fatal).
pub fn read(bytes: &[u8], file: &str) -> (ChoicesTable, Faults) {
    let mut faults = Faults::new();
    let mut out = ChoicesTable::default();
    let bytes = bytes.strip_prefix(b"\xef\xbb\xbf").unwrap_or(bytes);
    let mut reader = csv::ReaderBuilder::new()
        .flexible(true)
        .trim(csv::Trim::All)
        .from_reader(bytes);
    let header = match reader.byte_headers() {
        Ok(header) => header
            .iter()
            .map(|cell| String::from_utf8_lossy(cell).trim().to_lowercase())
            .collect(),
        Err(_) => Vec::new(),
    };
    let Some(columns) = columns(&header, file, &mut faults) else {
        return (out, faults);
    };
    out.measures = columns.offers.iter().map(|offer| offer.0.clone()).collect();
    let mut seen = BTreeSet::new();
    let mut record = csv::ByteRecord::new();
    loop {
        let line = reader.position().line();
        match reader.read_byte_record(&mut record) {
            Ok(false) => break,
            Ok(true) => {}
            Err(_) => {
                faults.push(cell_fault(file, line, "row", "", "a row of comma-separated cells"));
                continue;
            }
        }
        let line = record.position().map_or(line, csv::Position::line);
        if let Some(item) = row(&record, &columns, file, line, &mut faults) {
            if seen.insert(item.id.clone()) {
                out.items.push(item);
            } else {
                faults.push(
                    Fault::new("BW-B05", Severity::Rejected, "this assembly comes twice")
                        .file(file)
                        .line(line)
                        .column("assembly_id")
                        .value(&item.id)
                        .expected("one row an assembly")
                        .remedy("Remove one; the first was used."),
                );
            }
        }
    }
    if out.items.is_empty() {
        faults.push(
            Fault::new("BW-B06", Severity::Fatal, "there is nothing to choose from")
                .file(file)
                .expected("at least one usable row"),
        );
    }
    (out, faults)
}

fn columns(header: &[String], file: &str, faults: &mut Faults) -> Option<Columns> {
    let at = |name: &str| header.iter().position(|cell| cell == name);
    let missing = |name: &str| {
        Fault::new("BW-B03", Severity::Fatal, "a column is missing")
            .file(file)
            .line(1)
            .column(name)
            .expected("assembly_id, and cost_… with benefit_… for each measure")
            .remedy("Add the column.")
    };
    let mut offers = Vec::new();
    for (cost, name) in header.iter().enumerate() {
        let Some(measure) = name.strip_prefix("cost_").filter(|measure| *measure != NO_MEASURE) else {
            continue;
        };
        match at(&format!("benefit_{measure}")) {
            Some(benefit) => offers.push((measure.to_owned(), cost, benefit)),
            None => faults.push(missing(&format!("benefit_{measure}"))),
        }
    }
    for measure in header.iter().filter_map(|name| name.strip_prefix("benefit_")) {
        if at(&format!("cost_{measure}")).is_none() {
            faults.push(missing(&format!("cost_{measure}")));
        }
    }
    if offers.is_empty() {
        faults.push(missing("cost_…"));
    }
    let id = at("assembly_id");
    if id.is_none() {
        faults.push(missing("assembly_id"));
    }
    if faults.is_fatal() {
        return None;
    }
    Some(Columns {
        id: id?,
        district: at("district"),
        class: at("customer_class").or_else(|| at("class")),
        critical: at("critical"),
        offers,
    })
}

fn cell_fault(file: &str, line: u64, column: &str, value: &str, expected: &str) -> Fault {
    Fault::new(
        "BW-B04",
        Severity::Rejected,
        "this cell cannot be used; the row was set aside",
    )
    .file(file)
    .line(line)
    .column(column)
    .value(value)
    .expected(expected)
    .remedy("Correct the cell.")
}

fn row(record: &csv::ByteRecord, columns: &Columns, file: &str, line: u64, faults: &mut Faults) -> Option<Item> {
    let cell = |at: usize| {
        String::from_utf8_lossy(record.get(at).unwrap_or_default())
            .trim()
            .to_owned()
    };
    let optional = |at: Option<usize>| at.map(cell).unwrap_or_default();
    let mut bad =
        |column: &str, value: &str, expected: &str| faults.push(cell_fault(file, line, column, value, expected));
    let mut usable = true;
    let id = cell(columns.id);
    if id.is_empty() {
        bad("assembly_id", &id, "an identifier");
        usable = false;
    }
    let mut offers = Vec::with_capacity(columns.offers.len());
    for (measure, (name, cost, benefit)) in columns.offers.iter().enumerate() {
        let (cost, benefit) = (cell(*cost), cell(*benefit));
        // Neither told: the measure is not for this assembly.
        if cost.is_empty() && benefit.is_empty() {
            continue;
        }
        let usd = cost
            .parse::<f64>()
            .ok()
            .filter(|usd| (0.0..=MOST_USD).contains(usd) && usd.fract() == 0.0);
        let saved = benefit.parse::<f64>().ok().filter(|usd| usd.abs() <= MOST_USD);
        if usd.is_none() {
            bad(&format!("cost_{name}"), &cost, "whole US dollars, 0 or more");
        }
        if saved.is_none() {
            bad(&format!("benefit_{name}"), &benefit, "US dollars");
        }
        match (usd, saved) {
            (Some(usd), Some(benefit_usd)) => offers.push(Offer {
                measure,
                cost_usd: usd as u64,
                benefit_usd,
            }),
            _ => usable = false,
        }
    }
    let critical = optional(columns.critical);
    let item = Item {
        id,
        district: optional(columns.district),
        class: optional(columns.class),
        critical: !matches!(critical.to_lowercase().as_str(), "" | "0" | "no" | "false" | "none"),
        offers,
    };
    usable.then_some(item)
}

/// The same table again as text: what [`read`] reads.
pub fn write(measures: &[String], items: &[Item]) -> String {
    let mut writer = csv::Writer::from_writer(Vec::new());
    let mut header = vec![
        "assembly_id".to_owned(),
        "district".into(),
        "customer_class".into(),
        "critical".into(),
    ];
    header.extend(measures.iter().map(|measure| format!("cost_{measure}")));
    header.extend(measures.iter().map(|measure| format!("benefit_{measure}")));
    // Writing to memory cannot fail.
    let _ = writer.write_record(&header);
    for item in items {
        let of: BTreeMap<usize, &Offer> = item.offers.iter().map(|offer| (offer.measure, offer)).collect();
        let each = |tell: &dyn Fn(&Offer) -> String| -> Vec<String> {
            (0..measures.len())
                .map(|at| of.get(&at).map_or(String::new(), |offer| tell(offer)))
                .collect()
        };
        let mut row = vec![
            item.id.clone(),
            item.district.clone(),
            item.class.clone(),
            u8::from(item.critical).to_string(),
        ];
        row.extend(each(&|offer| offer.cost_usd.to_string()));
        row.extend(each(&|offer| format!("{:.2}", offer.benefit_usd)));
        let _ = writer.write_record(&row);
    }
    String::from_utf8(writer.into_inner().unwrap_or_default()).unwrap_or_default()
}
