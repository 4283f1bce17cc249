//! What a desk takes from the config of a watch.

use super::desk::Args;
use super::log_server::beside;
use crate::config::Config;
use crate::desk::follow::Followed;
use crate::input::file;
use crate::watch::config::WatchConfig;
use std::path::Path;

/// The watch that is followed, if one is: the one of `--follow`, else the one of the config where no series is given. What the section
/// `[watch]` names and the command line does not is filled into `args`.
///
/// A config that cannot be read names no watch here; the desk tells its faults when it reads it as its own.
pub fn followed(args: &mut Args) -> Option<Followed> {
    let config = args.input.config.clone();
    let rules = config.as_deref().and_then(rules);
    let own = args.input.series.is_empty() && args.input.spread.is_none() && args.input.spell.is_none();
    let near = config
        .as_deref()
        .and_then(Path::parent)
        .unwrap_or(Path::new(""))
        .to_owned();
    let named = rules.as_ref().filter(|rules| own && !rules.folder.is_empty());
    let folder = args.follow.clone().or_else(|| Some(near.join(&named?.folder)))?;
    let every_minutes = rules.as_ref().unwrap_or(&WatchConfig::default()).every_minutes;
    if let Some(rules) = named {
        let fill = |place: &mut Option<_>, name: &str| {
            if place.is_none() && !name.is_empty() {
                *place = Some(near.join(name));
            }
        };
        fill(&mut args.input.assemblies, &rules.assemblies);
        fill(&mut args.input.stations, &rules.stations);
        if args.log.is_none() && !rules.log.is_empty() {
            args.log = Some(beside(&near, &rules.log));
        }
        args.members = args.members.or_else(|| u32::try_from(rules.members).ok());
        args.seed = args.seed.or(Some(rules.seed));
    }
    Some(Followed { folder, every_minutes })
}

fn rules(config: &Path) -> Option<WatchConfig> {
    let bytes = file::read_whole(config).ok()?;
    let (text, _) = file::text(&bytes, config);
    let text = text.strip_prefix('\u{feff}').unwrap_or(&text);
    Some(Config::from_toml(text, &file::shown(config)).ok()?.watch)
}
