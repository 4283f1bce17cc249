# The review after a spell: counts first, then figures, then what is not told and why.

review-title = Was the list any good
review-counts = { $damaged } broke of { $looked } looked at. { $reported } more were reported and not looked at; { $unknown } were not looked at; { $cannot } were looked at without a clear answer; { $exposed } held no water.
review-nothing = Nobody has looked at an assembly yet, so nothing can be said.
review-spell-name = the cold spell of { $from } to { $to }
review-spell = { $spell }: { $damaged } broke of { $looked } looked at; as issued { $expected } were expected ({ $low } to { $high }, the weather's error included).
review-spell-hindcast = On the hours that came, under what was done, { $expected } were expected ({ $low } to { $high }).
review-one-spell = One cold night cannot say whether the forecast or the pipes were at fault.
review-town = By the design of who was looked at, about { $value } broke in the town{ $error }.
review-town-error = { " " }(± { $error }, one standard error)
review-set-as-issued = As issued
review-set-hindcast = On the hours that came, what was done ignored
review-set-hindcast-as-done = On the hours that came, under what was done
review-set = { $name }: { $damaged } broke where { $expected } were expected; observed over expected { $ratio } ({ $low } to { $high }).
review-scores = Brier { $brier } ({ $brier_low } to { $brier_high }), log score { $log } ({ $log_low } to { $log_high }), a broken one had the higher chance { $auc } ± { $auc_se }; miscalibration { $mcb } (simulated p { $p }), discrimination { $dsc }, uncertainty { $unc }.
review-caught = Within the first { $share } % of { $rule }: { $breaks } % of the breaks, { $loss } % of the loss.
review-calls = { $contact }: { $damaged } broke of { $looked } looked at ({ $low } to { $high } %).
review-proposal = Proposed for the config, for a person to adopt: mean nucleation { $mean } (± { $sd }, 90 % from { $low } to { $high }), in place of { $was }; from { $records } records, { $damaged } of them damaged, in { $spells ->
    [one] one spell
   *[other] { $spells } spells
}, with a spell effect of { $effect } integrated out. Nothing changes by itself.
review-strength = Strength factor { $factor } (90 % from { $low } to { $high }), in place of { $was }: spells left out in turn are told better with it (log score { $with } against { $without }).
review-strength-too-few = The strength factor stays as it is: only { $spells } spells, with { $each } damaged and { $each } whole ones looked at, could tell of it.
review-strength-not-simulated = The strength factor stays as it is: to tell of it, the freeze model must be run again on the hours that came (--assemblies, --series).
review-strength-open = The strength factor stays as it is: these records leave { $left } % of what was not known of it.
review-strength-holds = The strength factor stays as it is: it lies within what these records say of it (90 % from { $low } to { $high }).
review-strength-edge = The strength factor stays as it is: the records pull it past the edge of what was tried.
review-strength-no-gain = The strength factor stays as it is: spells left out in turn are told no better with another (log score { $with } against { $without }).
review-tiers = On the hours of { $spell } the list would hold { $new_first } to call first, { $new_next } to call next and { $new_message } for a message, in place of { $first }, { $next } and { $message }.
review-stand-in = Worked out from the chances alone by a stand-in curve (judgement), not by running the freeze model again.
review-simulated-in-part = Worked out by running the freeze model again on the hours that came; for assemblies with a measure other than a wrap by a stand-in curve (judgement).
review-refused = Not told, and why
review-refused-nothing-looked-at = Nothing was looked at, so there are no scores and no recalibration.
review-refused-too-few = { $damaged } damaged and { $whole } whole ones were looked at; under { $least } of each there are counts only, no scores, no diagram and no recalibration.
review-refused-no-hindcast = Of { $rows } looked at the chance on the hours that came is not known: they are judged as issued only.
review-refused-no-protected = Of { $rows } protected ones the chance with the measure in place is not known: they are left out where what was done counts.
review-refused-not-by-design = { $rows } were looked at because time or a complaint led there, not by design: they are counted but not scored.
review-refused-not-told-how = { $rows } rows do not tell how they were looked at (how_found, inclusion_probability): those looked at may be the complaints, so no total of the town is compared.
review-refused-few-spells = The records come from { $spells ->
    [one] one spell
   *[other] { $spells } spells
}: intervals are drawn from assemblies, and say too little about the weather. Forecasts have as many independent tests as there are spells.
review-refused-reports = { $rows } reported ones are counted but not scored: who complains is no sample.
review-refused-only-damaged = Only damaged ones were looked at. Without undamaged ones a recalibration would be wrong by kelvins and look sure.
review-refused-edge = The records pull the nucleation temperature past the edge of what was tried: something else than nucleation is at fault.
review-refused-no-gain = With each spell left out in turn the new value is no better (log score { $new } against { $old }): the old one stays.
review-refused-no-ranks = Places on the list are not known, so what the list caught cannot be told.
review-refused-no-loss = The loss of some broken ones is not known, so the share of loss is not told.
review-page-mean-p = Chance, from and to
review-page-n = Looked at
review-page-found = Broke
review-page-expected = Broke if the chances are right, 90 of 100
review-page-share = Share that broke, 95 % interval
