//! Keys of `[watch]`. Ranges are judgement.

use super::{Key, number, words};

/// The keys, in the order of the config's structures.
pub(super) const KEYS: &[Key] = &[
    words(
        "watch.folder",
        "path",
        "Folder of the plans and of what was told, beside the config.",
    ),
    words("watch.assemblies", "path", "List of assemblies."),
    words("watch.series", "paths", "Series; left out with fetch."),
    words("watch.stations", "path", "List of stations."),
    words("watch.log", "path", "Log of contacts."),
    words(
        "watch.fetch",
        "true or false",
        "Whether the forecast comes from the weather service.",
    ),
    words(
        "watch.service",
        "address",
        "Address of the weather service; the public one when empty.",
    ),
    words(
        "watch.contact",
        "text",
        "Mail address or page of whoever runs the programme, for the weather service.",
    ),
    number(
        "watch.every_minutes",
        "min",
        [1.0, 100000.0],
        [15.0, 1440.0],
        "Minutes between two plans of the standing process (judgement).",
    ),
    number(
        "watch.keep_days",
        "d",
        [1.0, 36500.0],
        [1.0, 3650.0],
        "Days for which plans are kept (judgement).",
    ),
    number(
        "watch.members",
        "members",
        [1.0, 65536.0],
        [16.0, 4096.0],
        "Members of each plan.",
    ),
    number(
        "watch.seed",
        "number",
        [0.0, 1e11],
        [0.0, 1e11],
        "Seed of every plan: the same, so that a change is never one of draws.",
    ),
    number(
        "watch.more_than",
        "sites",
        [0.0, 1000000.0],
        [0.0, 1000.0],
        "New sites to call first that are worth a word: more than so many.",
    ),
    number(
        "watch.thaw_after_h",
        "h",
        [0.0, 1000.0],
        [1.0, 72.0],
        "Hours for which nobody must be left to call before the thaw is told (judgement).",
    ),
    number(
        "watch.remind_h",
        "h",
        [0.0, 10000.0],
        [0.0, 168.0],
        "Hours after which what still holds is told again; 0 for never.",
    ),
    words("watch.quiet_from", "time", "Beginning of the quiet hours, local."),
    words("watch.quiet_until", "time", "End of the quiet hours, local."),
    number(
        "watch.urgent_h",
        "h",
        [0.0, 1000.0],
        [0.0, 72.0],
        "First ice nearer than so many hours is told in quiet hours too (judgement).",
    ),
    words(
        "watch.webhook",
        "address",
        "Address that gets each word as JSON, signed.",
    ),
    words(
        "watch.webhook_secret_file",
        "path",
        "File with the secret of the signature, mode 0600.",
    ),
    words(
        "watch.mail_to",
        "addresses",
        "Addresses that get each word by mail, one message each.",
    ),
    words("watch.mail_from", "address", "Address that the mail comes from."),
    words(
        "watch.smtp",
        "address",
        "Mail server: smtps://host:465, or smtp://host:587 with STARTTLS.",
    ),
    words(
        "watch.mail_user",
        "text",
        "Name to sign in to the mail server with; empty where it asks for none.",
    ),
    words(
        "watch.mail_secret_file",
        "path",
        "File with the password at the mail server, mode 0600.",
    ),
    words("watch.language", "en or es", "Language of what is told."),
];
