//! The cells of one row to an assembly.

use crate::faults::{Fault, Faults, Severity};
use crate::input::Record;
use crate::inventory::Channel;
use crate::inventory::assembly::{Assembly, Assumed, Assumption, Contact, CustomerClass, DeviceType, NominalSize};
use crate::inventory::columns::{Column, Layout};
use crate::inventory::dates::{self, Dated};
use crate::inventory::defaults::{CAUTIOUS, Filler, NEUTRAL};
use crate::inventory::parse::{self, Unread};
use crate::inventory::read::Unranked;
use crate::inventory::synonyms::Synonyms;
use crate::text::{Pool, Text};
use chrono::NaiveDate;
use std::collections::HashSet;
use std::sync::Arc;

/// A date; blank is no fault.
pub(super) fn date(text: &str) -> Result<Option<Dated>, Unread> {
    if parse::is_blank(text) {
        return Ok(None);
    }
    dates::parse(text).map(Some).ok_or(Unread {
        what: None,
        expected: "a date, such as 2025-03-14",
    })
}

/// What rows have alike, kept once for all of them.
#[derive(Default)]
pub(super) struct Shared {
    texts: Pool,
    assumed: HashSet<Arc<[Assumption]>>,
}

impl Shared {
    fn assumed(&mut self, filled: Vec<Assumption>) -> Assumed {
        if let Some(known) = self.assumed.get(filled.as_slice()) {
            return Arc::clone(known).into();
        }
        let filled: Arc<[Assumption]> = filled.into();
        self.assumed.insert(Arc::clone(&filled));
        filled.into()
    }
}

/// The cells of one row.
pub(super) struct Cells<'r> {
    pub(super) layout: &'r Layout,
    pub(super) record: &'r Record,
    pub(super) file_name: &'r str,
    pub(super) synonyms: &'r Synonyms,
    /// Whether a comma stands for the decimal point.
    pub(super) comma: bool,
}

impl<'r> Cells<'r> {
    /// What the cell says, in our word where the config has one for it.
    pub(super) fn get(&self, column: Column) -> &'r str {
        let cell = self.as_listed(column);
        self.synonyms.ours(column, cell).unwrap_or(cell)
    }

    fn as_listed(&self, column: Column) -> &'r str {
        self.layout.get(column, &self.record.fields)
    }

    pub(super) fn fault(
        &self,
        code: &'static str,
        severity: Severity,
        column: Column,
        what: impl Into<String>,
    ) -> Fault {
        Fault::new(code, severity, what)
            .file(self.file_name)
            .line(self.record.line)
            .column(column.name())
            .value(self.as_listed(column))
    }

    pub(super) fn rejected(&self, code: &'static str, column: Column, what: impl Into<String>) -> Fault {
        self.fault(code, Severity::Rejected, column, what)
    }

    /// A cell without which the row cannot be used.
    pub(super) fn needed<T>(
        &self,
        column: Column,
        code: &'static str,
        parse: impl Fn(&str) -> Result<Option<T>, Unread>,
        rejected: &mut Vec<Fault>,
    ) -> Option<T> {
        let fault = match parse(self.get(column)) {
            Ok(Some(value)) => return Some(value),
            Ok(None) => self
                .rejected(code, column, format!("the row has no {}", column.name()))
                .remedy("Fill it in; without it nothing can be computed."),
            Err(unread) => self
                .rejected(
                    code,
                    column,
                    unread.what.unwrap_or(match column {
                        Column::DeviceType => "this is no type of assembly that is known here",
                        _ => "this is no nominal size that is known here",
                    }),
                )
                .expected(unread.expected)
                .remedy("Correct the cell."),
        };
        rejected.push(fault);
        None
    }

    /// A cell that counts as blank when it cannot be read.
    pub(super) fn read<T>(
        &self,
        column: Column,
        parse: impl Fn(&str) -> Result<Option<T>, Unread>,
        faults: &mut Faults,
    ) -> Option<T> {
        parse(self.get(column)).unwrap_or_else(|unread| {
            faults.push(
                self.fault(
                    "BW-A08",
                    Severity::Warning,
                    column,
                    unread.what.unwrap_or("this cell cannot be read and counts as blank"),
                )
                .expected(unread.expected)
                .remedy("Correct the cell."),
            );
            None
        })
    }

    /// Channels that are allowed, or the text of a cell that cannot be understood, which is no leave to contact.
    ///
    /// Faults: `BW-A27` (warning).
    fn channels(&self, faults: &mut Faults) -> (Option<Vec<Channel>>, Option<Text>) {
        match parse::channels(self.get(Column::Channels)) {
            Ok(channels) => (channels, None),
            Err(unread) => {
                faults.push(
                    self.fault(
                        "BW-A27",
                        Severity::Warning,
                        Column::Channels,
                        "what this person allows cannot be understood; nobody is contacted until somebody has decided",
                    )
                    .expected(unread.expected)
                    .remedy("Correct the cell; until then the person stands in contacts.csv for a decision."),
                );
                (None, Some(self.get(Column::Channels).trim().into()))
            }
        }
    }

    /// A number that counts as blank when it cannot be read or cannot be.
    fn number(
        &self,
        column: Column,
        parse: impl Fn(&str) -> Result<Option<f64>, Unread>,
        range: std::ops::RangeInclusive<f64>,
        expected: &'static str,
        faults: &mut Faults,
    ) -> Option<f64> {
        let value = self.read(column, parse, faults)?;
        if range.contains(&value) {
            return Some(value);
        }
        faults.push(
            self.fault(
                "BW-A09",
                Severity::Warning,
                column,
                "this value is out of range and counts as blank",
            )
            .expected(expected)
            .remedy("Correct the cell, or look at its unit."),
        );
        None
    }

    fn text(&self, column: Column) -> Option<Text> {
        let text = self.get(column);
        (!parse::is_blank(text)).then(|| text.into())
    }

    /// A word that says yes to nothing (`no`, `false`, `0`) is no critical customer.
    fn critical(&self) -> Option<Text> {
        self.text(Column::Critical)
            .filter(|text| !matches!(parse::yes_no(text), Ok(Some(false) | None)))
    }

    /// Who to reach, as listed.
    pub(super) fn contact(&self, faults: &mut Faults) -> Contact {
        let (channels, channels_unread) = self.channels(faults);
        Contact {
            account_id: self.text(Column::AccountId),
            site_address: self.text(Column::SiteAddress),
            contact_name: self.text(Column::ContactName),
            phone: self.text(Column::Phone),
            email: self.text(Column::Email),
            language: self.read(Column::Language, parse::language, faults),
            channels,
            channels_unread,
        }
    }

    /// A row that cannot be modelled and has somebody who can be told; `None` when nobody is listed.
    pub(super) fn unranked(&self, id: &str, why: &[Fault]) -> Option<Unranked> {
        // What is wrong with these cells too is not told: the row's own faults are.
        let contact = self.contact(&mut Faults::new());
        let somebody = [&contact.phone, &contact.email, &contact.site_address];
        if somebody.iter().all(|cell| cell.is_none()) {
            return None;
        }
        let told: Vec<String> = why
            .iter()
            .map(|fault| match &fault.value {
                Some(value) if !value.is_empty() => format!("{} ({value})", fault.what),
                _ => fault.what.clone(),
            })
            .collect();
        Some(Unranked {
            assembly_id: id.to_owned(),
            line: self.record.line,
            why: told.join("; "),
            device_type: self.as_listed(Column::DeviceType).to_owned(),
            nominal_size: self.as_listed(Column::NominalSize).to_owned(),
            service: self.as_listed(Column::Service).to_owned(),
            placement: self.as_listed(Column::Placement).to_owned(),
            critical: self.critical(),
            contact,
        })
    }

    pub(super) fn assembly(
        &self,
        id: &str,
        device_type: DeviceType,
        nominal_size: NominalSize,
        last_test: Option<NaiveDate>,
        shared: &mut Shared,
        faults: &mut Faults,
    ) -> Assembly {
        let comma = self.comma;
        let mut filler = Filler::default();
        // Any number passes here: check::coordinates sees all rows and can repair.
        let mut angle = |column| {
            self.number(
                column,
                |text| parse::degrees(text, comma),
                -720.0..=720.0,
                "degrees",
                faults,
            )
        };
        let (latitude_deg, longitude_deg) = (angle(Column::Latitude), angle(Column::Longitude));
        let elevation_m = self.number(
            Column::Elevation,
            |text| parse::elevation_m(text, comma),
            -500.0..=9000.0,
            "feet above sea level, -1,600 to 29,500",
            faults,
        );
        if elevation_m.is_none() {
            filler.or(None, "elevation_ft", NEUTRAL, ((), "the station's"));
        }
        let customer_class = self.read(Column::CustomerClass, parse::customer_class, faults);
        let customer_class = filler.or(
            customer_class,
            "customer_class",
            NEUTRAL,
            (CustomerClass::Unknown, CustomerClass::Unknown.word()),
        );
        let service = filler.service(self.read(Column::Service, parse::service, faults), device_type);
        let placement = filler.placement(self.read(Column::Placement, parse::placement, faults));
        let wrap = self.number(
            Column::Wrap,
            |text| parse::wrap_m2k_per_w(text, comma),
            // R-60 is more than any wrap (judgement).
            0.0..=60.0 * crate::units::M2K_PER_W_PER_R_US,
            "a US R-value from 0 to 60",
            faults,
        );
        let wrap_m2k_per_w = filler.or(wrap, "wrap_r_us", CAUTIOUS, (0.0, "none"));
        let material = self.read(Column::RiserMaterial, parse::riser_material, faults);
        let riser_material = filler.riser_material(material, nominal_size);
        let height = self.number(
            Column::RiserHeight,
            |text| parse::height_m(text, comma),
            // Ten feet is above any that a tester can reach (judgement).
            0.0..=3.048,
            "inches above grade, 0 to 120",
            faults,
        );
        let riser_height_m = filler.riser_height_m(height, device_type, nominal_size);
        let wind_exposure = filler.wind_exposure(self.read(Column::WindExposure, parse::wind_exposure, faults));
        let drip = self.read(Column::FreezeDrip, parse::yes_no, faults);
        let freeze_drip = filler.or(drip, "freeze_drip", CAUTIOUS, (false, "no"));
        let trace = self.number(
            Column::HeatTrace,
            |text| parse::power_w(text, comma),
            0.0..=20_000.0,
            "watts, 0 to 20000",
            faults,
        );
        let heat_trace_w = filler.or(trace, "heat_trace_w", CAUTIOUS, (0.0, "0"));
        let winter_use = filler.winter_use(self.read(Column::WinterUse, parse::winter_use, faults), service);
        let contact = self.contact(faults);
        Assembly {
            assembly_id: id.into(),
            device_type,
            nominal_size,
            latitude_deg,
            longitude_deg,
            elevation_m,
            station_id: self.text(Column::StationId).map(|id| shared.texts.share(&id)),
            customer_class,
            service,
            placement,
            wrap_m2k_per_w,
            riser_material,
            riser_height_m,
            wind_exposure,
            freeze_drip,
            heat_trace_w,
            expansion_relief: self.read(Column::ExpansionRelief, parse::yes_no, faults),
            winter_use,
            critical: self.critical().map(|word| shared.texts.share(&word)),
            last_test,
            contact,
            extra: self
                .layout
                .extra
                .iter()
                .map(|(index, header)| {
                    let value = self.record.fields.get(*index).map(String::as_str).unwrap_or_default();
                    (header.clone(), shared.texts.share(value))
                })
                .collect(),
            assumed: shared.assumed(filler.assumed),
            line: self.record.line,
        }
    }
}
