//! The readings as flags of the command line, from the one table of them.

use crate::expansion::Told;
use crate::expansion::readings::{Ask, Quantity, READINGS, Reading, Slot};
use clap::{Arg, ArgAction, ArgMatches, Command};

/// Every reading as a flag.
pub struct ReadingArgs(pub Told);

/// The flag of a reading.
fn flag(reading: &Reading) -> Arg {
    let arg = Arg::new(reading.key)
        .long(reading.key)
        .help(reading.help)
        .help_heading(match reading.ask {
            Ask::Needed | Ask::Closed | Ask::First => "Readings",
            _ => "Further readings",
        });
    match reading.slot {
        Slot::Flag(_) => return arg.action(ArgAction::SetTrue),
        Slot::One(_) => arg.action(ArgAction::Set),
        Slot::Many(_) if reading.quantity == Quantity::Device => arg.action(ArgAction::Append).value_delimiter(','),
        Slot::Many(_) => arg.action(ArgAction::Append),
    }
    .value_name(reading.quantity.value_name())
    // "-5 F" is a value.
    .allow_hyphen_values(!matches!(
        reading.quantity,
        Quantity::Pipe | Quantity::Device | Quantity::Word
    ))
}

impl clap::Args for ReadingArgs {
    fn augment_args(command: Command) -> Command {
        command.args(READINGS.iter().map(flag))
    }

    fn augment_args_for_update(command: Command) -> Command {
        Self::augment_args(command)
    }
}

impl clap::FromArgMatches for ReadingArgs {
    fn from_arg_matches(matches: &ArgMatches) -> Result<Self, clap::Error> {
        let mut args = Self(Told::default());
        args.update_from_arg_matches(matches)?;
        Ok(args)
    }

    fn update_from_arg_matches(&mut self, matches: &ArgMatches) -> Result<(), clap::Error> {
        for reading in READINGS {
            match reading.slot {
                Slot::One(slot) => *slot(&mut self.0) = matches.get_one::<String>(reading.key).cloned(),
                Slot::Many(slot) => {
                    *slot(&mut self.0) = matches
                        .get_many::<String>(reading.key)
                        .map(|values| values.cloned().collect())
                        .unwrap_or_default();
                }
                Slot::Flag(slot) => *slot(&mut self.0) = matches.get_flag(reading.key),
            }
        }
        Ok(())
    }
}
