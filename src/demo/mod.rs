//! The demonstration programme: an invented town, its assemblies and a week of invented weather.
//!
//! Pellow Reach does not exist. Its coordinates lie in open water, so that no dot of a map falls on
//! anybody's house; its people have numbers and addresses from the ranges reserved for fiction
//! (555-0100 to 555-0199, example.com). The list is as incomplete and as untidy as real lists are.
//! Everything follows from the seed.

mod dirt;
mod draw;
mod list;
mod people;
mod spell;
mod town;
pub mod winters;

use crate::faults::Fault;
use crate::output::safe::Folder;
use chrono::NaiveDate;
use chrono_tz::Tz;
use dirt::Care;

/// The town's clock.
pub const ZONE: Tz = Tz::America__Chicago;

/// Rows of the list unless the user says otherwise: the size of the committed one.
pub const DEFAULT_ASSEMBLIES: usize = 400;
/// Seed unless the user says otherwise.
pub const DEFAULT_SEED: u64 = 1;
/// Most rows that are written (judgement: far more than any utility has).
pub const MOST_ASSEMBLIES: usize = 5_000_000;

/// What to make.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Wish {
    /// Rows of the list, dirt included.
    pub assemblies: usize,
    /// Seed of every draw.
    pub seed: u64,
    /// First day of the forecast, local; the cold nights are the third and the fourth.
    pub first_day: NaiveDate,
}

impl Default for Wish {
    fn default() -> Self {
        Self {
            assemblies: DEFAULT_ASSEMBLIES,
            seed: DEFAULT_SEED,
            first_day: NaiveDate::from_ymd_opt(2027, 1, 18).unwrap_or_default(),
        }
    }
}

/// The files by name, in the order of writing.
pub fn files(wish: &Wish) -> Vec<(&'static str, String)> {
    vec![
        ("assemblies.csv", list::csv(wish, Care::Tidy)),
        ("assemblies-untidy.csv", list::csv(wish, Care::Untidy)),
        ("stations.csv", town::stations_csv()),
        ("forecast.csv", spell::csv(wish)),
        ("config.toml", town::config_toml().to_owned()),
        ("README.md", readme(wish)),
    ]
}

/// Writes the files into a folder being built.
///
/// # Errors
/// When a file cannot be written.
pub fn write(wish: &Wish, folder: &Folder) -> Result<Vec<&'static str>, Fault> {
    let mut names = Vec::new();
    for (name, text) in files(wish) {
        folder.write(name, text.as_bytes())?;
        names.push(name);
    }
    Ok(names)
}

fn readme(wish: &Wish) -> String {
    format!(
        "# The demonstration programme\n\
         \n\
         Everything here is invented: the town of {town}, its streets, people, accounts, weather stations and weather. Telephone\n\
         numbers are from the range reserved for fiction (555-0100 to 555-0199), e-mail addresses from example.com, example.org and\n\
         example.net. The coordinates lie in open water, so that no dot on a map falls on anybody's house.\n\
         \n\
         Made by `brimwater demo --out DIR --assemblies {n} --seed {seed} --start {day}` (those are the defaults, unless this folder\n\
         was made with others). The same options give the same bytes; `--assemblies` makes a programme of any size.\n\
         \n\
         - `assemblies.csv`: {n} rows. Most cells that decide freezing are blank, as in real lists; things are spelled in two ways, dates\n\
         \x20 come in three shapes, one telephone number stands for a whole estate, bypasses are listed apart. Every row can be used.\n\
         - `assemblies-untidy.csv`: the same town as a careless office lists it: typing slips, swapped coordinates, ids used twice, sizes\n\
         \x20 that a spreadsheet turned into dates. `brimwater check` tells them all, and some rows are rejected.\n\
         - `stations.csv`: three stations: the airfield, the ridge, the bay.\n\
         - `forecast.csv`: seven days, hourly, for each station: a front, a hard freeze with wind on the first night and a clear, calm\n\
         \x20 second night; a gap of two hours and a row told twice, as happens.\n\
         - `config.toml`: the utility's name, time zone and numbers.\n",
        town = town::NAME,
        n = wish.assemblies,
        seed = wish.seed,
        day = wish.first_day,
    )
}
