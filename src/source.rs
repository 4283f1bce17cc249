//! The bibliography: every constant and correlation points at an entry here.

/// How far a source can be trusted for the number taken from it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Grade {
    /// The text was read, or the value reproduced from an independent computation.
    Verified,
    /// Recalled from the named publication and not read again.
    FromMemory,
    /// A fact of the trade without a citable source.
    CommonPractice,
    /// The authors' choice, open to recalibration; the config can change it.
    Judgement,
}

/// One entry of the bibliography.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Source {
    /// Short identifier that doc comments quote in brackets, such as `[churchill-bernstein-1977]`.
    pub id: &'static str,
    /// Author, title, publication, edition or year.
    pub citation: &'static str,
    /// How far it can be trusted.
    pub grade: Grade,
}

/// All entries, in alphabetical order of their identifiers.
pub const SOURCES: &[Source] = &[
    // Keep sorted: tests look entries up by binary search.
    Source {
        id: "drop-size",
        citation: "Drop conventions: 20 drops a millilitre (medical), 0.25 mL and 1/5 to 1/3 mL (leak guides, USGS Water Science School)",
        grade: Grade::CommonPractice,
    },
    Source {
        id: "judgement",
        citation: "The authors' judgement; change it in the config when local records say otherwise",
        grade: Grade::Judgement,
    },
    Source {
        id: "repair-cost-bands",
        citation: "Installed and repair costs of assemblies as plumbers and testers quote them, US, 2024 to 2026 dollars; common practice, no single source",
        grade: Grade::CommonPractice,
    },
];

/// The entry with this identifier.
pub fn source(id: &str) -> Option<&'static Source> {
    SOURCES
        .binary_search_by(|entry| entry.id.cmp(id))
        .ok()
        .map(|at| &SOURCES[at])
}
