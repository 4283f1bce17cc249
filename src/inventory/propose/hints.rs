//! Words by which a header names a column, and words that say that it names something else.

use crate::inventory::columns::{Column, normal};

/// Phrases of the trade's lists for a column, in small letters, English and Spanish (judgement, from the vocabulary of the trade). All
/// words of a phrase must stand in the header.
pub(super) fn phrases(column: Column) -> &'static [&'static str] {
    match column {
        Column::AssemblyId => &[
            "assembly id",
            "assembly no",
            "assembly number",
            "assembly",
            "assy id",
            "assy no",
            "device id",
            "device no",
            "device number",
            "dev id",
            "dev no",
            "bfp id",
            "bfp no",
            "bfp",
            "bf id",
            "bf no",
            "bf",
            "backflow id",
            "backflow no",
            "backflow number",
            "bpa id",
            "bpa no",
            "asset id",
            "asset no",
            "asset number",
            "asset",
            "tag no",
            "tag number",
            "tag",
            "unit id",
            "facility id",
            "record id",
            "record no",
            "serial no",
            "serial number",
            "serial",
            "sn",
            "id",
            "no",
            "número de conjunto",
            "numero de conjunto",
        ],
        Column::DeviceType => &[
            "device type",
            "assembly type",
            "assy type",
            "bfp type",
            "bf type",
            "backflow type",
            "bpa type",
            "type of assembly",
            "type of device",
            "preventer type",
            "kind of assembly",
            "type",
            "kind",
            "device",
            "tipo de conjunto",
            "tipo",
        ],
        Column::NominalSize => &[
            "nominal size",
            "device size",
            "assembly size",
            "bfp size",
            "bf size",
            "pipe size",
            "size",
            "diameter",
            "dia",
            "diam",
            "tamaño",
            "diámetro",
            "diametro",
        ],
        Column::Latitude => &["latitude", "lat", "y coord", "gps y", "y", "latitud"],
        Column::Longitude => &["longitude", "lon", "long", "lng", "x coord", "gps x", "x", "longitud"],
        Column::Elevation => &["elevation", "elev", "altitude"],
        Column::StationId => &["weather station", "station"],
        Column::CustomerClass => &[
            "customer class",
            "customer type",
            "cust type",
            "cust class",
            "account type",
            "account class",
            "premise type",
            "rate class",
            "use class",
            "class",
            "clase de cliente",
        ],
        Column::Service => &[
            "service type",
            "type of service",
            "service use",
            "service",
            "line type",
            "use",
            "usage",
            "application",
            "serves",
            "purpose",
            "protects",
            "servicio",
            "uso",
        ],
        Column::Placement => &[
            "placement",
            "location type",
            "installation",
            "installed in",
            "install type",
            "enclosure type",
            "enclosure",
            "setting",
            "housing",
            "where installed",
            "device location",
            "assembly location",
            "bfp location",
            "location",
            "where",
            "situation",
            "ubicación",
            "ubicacion",
        ],
        Column::Wrap => &["wrap", "insulation r", "r value"],
        Column::RiserMaterial => &["riser material", "pipe material", "riser pipe", "material", "riser"],
        Column::RiserHeight => &["riser height", "height above grade", "height", "above grade"],
        Column::WindExposure => &["wind exposure", "wind", "exposure"],
        Column::FreezeDrip => &["freeze drip", "drip valve", "freeze valve", "drip device"],
        Column::HeatTrace => &["heat trace", "heat tape", "heat cable", "trace watts"],
        Column::ExpansionRelief => &["expansion relief", "expansion valve"],
        Column::WinterUse => &[
            "winter use",
            "winter status",
            "winter",
            "winterized",
            "winterised",
            "seasonal use",
            "season",
            "seasonal",
        ],
        Column::Critical => &["critical customer", "critical", "crit", "priority customer", "medical"],
        Column::LastTest => &[
            "last test date",
            "last test",
            "last tested",
            "date tested",
            "test date",
            "tested on",
            "tested",
            "most recent test",
            "última prueba",
            "ultima prueba",
            "fecha de prueba",
        ],
        Column::AccountId => &[
            "account no",
            "account number",
            "account id",
            "account",
            "acct no",
            "acct",
            "customer no",
            "customer id",
            "cust no",
            "cust id",
            "cuenta",
        ],
        Column::SiteAddress => &[
            "site address",
            "service address",
            "premise address",
            "location address",
            "property address",
            "street address",
            "address",
            "street",
            "premise",
            "site",
            "location",
            "dirección",
            "direccion",
            "domicilio",
        ],
        Column::ContactName => &[
            "contact name",
            "contact person",
            "contact",
            "owner name",
            "customer name",
            "cust name",
            "occupant name",
            "occupant",
            "owner",
            "customer",
            "name",
            "attn",
            "nombre",
            "cliente",
        ],
        Column::Phone => &[
            "phone number",
            "phone no",
            "contact phone",
            "phones",
            "phone",
            "telephone",
            "tel no",
            "tel",
            "cell",
            "mobile",
            "contact number",
            "teléfono",
            "telefono",
            "teléfonos",
            "telefonos",
        ],
        Column::Email => &[
            "email address",
            "email",
            "mail",
            "contact email",
            "correo electrónico",
            "correo electronico",
            "correo",
        ],
        Column::Language => &["preferred language", "language", "lang", "idioma"],
        Column::Channels => &[
            "channels",
            "contact preference",
            "preferred contact",
            "contact method",
            "contact by",
            "notify by",
            "opt out",
            "opt in",
            "consent",
            "ok to contact",
            "ok to call",
            "may contact",
            "do not contact",
            "do not call",
            "permission",
        ],
    }
}

/// Words that say that a header is about somebody or something else.
fn other_things(column: Column) -> &'static [&'static str] {
    match column {
        Column::Phone | Column::Email | Column::ContactName | Column::SiteAddress => &[
            "tester",
            "testing",
            "test",
            "inspector",
            "plumber",
            "contractor",
            "technician",
            "installer",
            "company",
            "manufacturer",
            "mfr",
            "meter",
            "mailing",
            "billing",
            "mail",
            "bill",
            "fax",
            "type",
            "id",
            "no",
            "class",
            "model",
            "preference",
            "preferred",
            "method",
            "by",
            // What somebody allows, and words about the place, are neither who nor where.
            "may",
            "ok",
            "not",
            "opt",
            "consent",
            "permission",
            "allowed",
            "note",
            "notes",
            "desc",
            "description",
            "comment",
            "comments",
            "remarks",
        ],
        Column::NominalSize => &["meter", "lot", "tank"],
        Column::LastTest => &[
            "next",
            "due",
            "install",
            "installed",
            "created",
            "result",
            "by",
            "tester",
        ],
        Column::DeviceType => &[
            "customer",
            "cust",
            "service",
            "account",
            "premise",
            "location",
            "enclosure",
            "line",
            "hazard",
            "meter",
            "rate",
            "test",
            "repair",
            "install",
        ],
        Column::AssemblyId => &[
            "account",
            "acct",
            "customer",
            "cust",
            "meter",
            "permit",
            "tester",
            "cert",
            "phone",
            "type",
            "size",
            "location",
            "date",
            "maker",
            "model",
            "manufacturer",
            "company",
            "status",
        ],
        Column::AccountId => &["type", "class", "name", "status", "tester"],
        Column::Service | Column::CustomerClass => &["address", "date", "area", "meter", "number"],
        Column::Placement => &["date", "by", "address", "note", "notes", "description", "desc"],
        Column::Latitude | Column::Longitude => &["name", "desc", "term", "distance"],
        Column::RiserMaterial => &["height", "size"],
        _ => &[],
    }
}

/// Words of a header; `#` counts as "no", and a dotted or spaced abbreviation loses its points.
pub(super) fn words(header: &str) -> Vec<String> {
    let spelled = header.replace('#', " no ");
    // "E-mail" is one word, and no mail that comes in an envelope.
    normal(&spelled)
        .replace("e_mail", "email")
        .split('_')
        .filter(|word| !word.is_empty())
        .map(|word| match word {
            "num" | "nbr" | "nr" | "number" => "no".to_owned(),
            "ids" => "id".to_owned(),
            "svc" | "serv" => "service".to_owned(),
            "typ" => "type".to_owned(),
            "loc" => "location".to_owned(),
            "dt" => "date".to_owned(),
            "addr" | "adr" => "address".to_owned(),
            word => word.to_owned(),
        })
        .collect()
}

/// How much a header speaks for a column, 0 to 1: 1 where the phrase is the whole of it.
pub(super) fn score(column: Column, header: &str) -> f64 {
    let words = words(header);
    let best = phrases(column)
        .iter()
        .enumerate()
        .filter_map(|(at, phrase)| {
            let parts: Vec<&str> = phrase
                .split(' ')
                .map(|part| if part == "number" { "no" } else { part })
                .collect();
            let all = parts.iter().all(|part| words.iter().any(|word| word == part));
            // Phrases stand from the plainest to the faintest; a little is taken off down the list (judgement).
            let rank = 1.0 - 0.3 * at as f64 / phrases(column).len() as f64;
            all.then(|| rank * (0.5 + 0.5 * parts.len() as f64 / words.len().max(1) as f64))
        })
        .fold(0.0, f64::max);
    let other = words.iter().any(|word| other_things(column).contains(&word.as_str()))
        && !phrases(column).iter().any(|phrase| {
            let spelled: Vec<&str> = phrase
                .split(' ')
                .map(|part| if part == "number" { "no" } else { part })
                .collect();
            spelled == words
        });
    // A fifth is left: contents may still speak for it (judgement).
    if other { 0.2 * best } else { best }
}

/// Whether a cell looks like a header of any column: used to find the header under titles.
pub(super) fn is_hint(cell: &str) -> bool {
    // Titles are sentences; headers are a few words (judgement).
    let short = words(cell).len() <= 5;
    short && Column::ALL.iter().any(|column| score(*column, cell) >= 0.5)
}
