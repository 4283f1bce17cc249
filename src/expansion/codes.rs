//! Sections of the model codes and standards beside the statements that lean on them.
//!
//! They are the model texts; what a place adopted and amended comes first, and every answer says so.

/// A section and whether its text was read; one that was not is quoted from memory and marked.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Section {
    /// Name and number.
    pub name: &'static str,
    /// Whether the wording was read, in the code or in an adopting authority's own print of it.
    pub read: bool,
}

const fn read(name: &'static str) -> Section {
    Section { name, read: true }
}

const fn from_memory(name: &'static str) -> Section {
    Section { name, read: false }
}

/// Static above 80 psi calls for a regulator with a strainer, set to 80 psi or less. `[upc-608]` `[ipc-607]`
pub const REGULATOR: &[Section] = &[
    read("UPC 608.2"),
    from_memory("IPC 604.8"),
    from_memory("IRC P2903.3.1"),
];
/// Whatever closes the building's supply calls for expansion control; a tank holds the house to the limit. `[upc-608]` `[ipc-607]`
pub const CLOSED: &[Section] = &[read("UPC 608.3"), read("IPC 607.3"), from_memory("IRC P2903.4")];
/// The tank behind each regulator, fastened, for drinking water. `[upc-608]`
pub const TANK: &[Section] = &[
    read("UPC 608.2"),
    read("UPC 608.3"),
    read("IPC 607.3"),
    from_memory("NSF/ANSI/CAN 61"),
];
/// A relief in place of a tank: by whom it may be designed, at most 100 psi. `[upc-608]`
pub const RELIEF_INSTEAD: &[Section] = &[read("UPC 608.2")];
/// The heater's relief valve is not a control of expansion. `[ipc-504]`
pub const HEATER_RELIEF: &[Section] = &[read("IPC 504.4"), read("IPC 504.6"), from_memory("ANSI Z21.22")];
/// Where and how a relief discharges. `[ipc-504]`
pub const DISCHARGE: &[Section] = &[
    read("IPC 504.6"),
    from_memory("IRC P2804.6.1"),
    from_memory("UPC 608.5"),
];
/// Hot water at taps and baths; mixing valves. `[common-practice]`
pub const MIXING: &[Section] = &[from_memory("ASSE 1017"), from_memory("ASSE 1070"), read("IPC 412.5")];
/// Storage hot enough for hygiene. `[osha-legionella]`
pub const HYGIENE: &[Section] = &[read("OSHA TM III:7"), from_memory("ASHRAE 188")];
/// A relief in place of a tank and where it discharges. `[upc-608]` `[ipc-504]`
pub const RELIEF_AND_DISCHARGE: &[Section] = &[read("UPC 608.2"), read("IPC 504.6"), from_memory("IRC P2804.6.1")];
/// The temperature at which a listed temperature and pressure relief valve opens. `[ansi-z21-22]`
pub const LISTED_RELIEF: &[Section] = &[from_memory("ANSI Z21.22")];
/// Closed heating loops. `[common-practice]`
pub const HEATING_LOOP: &[Section] = &[from_memory("ASME BPVC IV")];
/// Large vessels. `[common-practice]`
pub const VESSEL: &[Section] = &[from_memory("ASME BPVC IV"), from_memory("ASME BPVC VIII-1")];

/// All sections that are named anywhere.
pub fn all() -> impl Iterator<Item = Section> {
    [
        REGULATOR,
        CLOSED,
        TANK,
        RELIEF_INSTEAD,
        RELIEF_AND_DISCHARGE,
        HEATER_RELIEF,
        DISCHARGE,
        MIXING,
        HYGIENE,
        LISTED_RELIEF,
        HEATING_LOOP,
        VESSEL,
    ]
    .into_iter()
    .flatten()
    .copied()
}

/// A statement with the sections that it leans on beside it; as it is where it leans on none.
pub fn beside(text: String, sections: &[Section]) -> String {
    if sections.is_empty() {
        text
    } else {
        text + &cite(sections)
    }
}

/// The sections in brackets, with a star for those quoted from memory: " [UPC 608.2; IPC 604.8*]".
pub fn cite(sections: &[Section]) -> String {
    let names: Vec<String> = sections
        .iter()
        .map(|section| format!("{}{}", section.name, if section.read { "" } else { "*" }))
        .collect();
    format!(" [{}]", names.join("; "))
}
