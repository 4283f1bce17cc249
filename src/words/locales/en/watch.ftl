# What the standing watch tells.

watch-reminder = Still so:
watch-first-night = { $sites ->
    [one] A cold spell is coming: { $sites } site to call first. First ice may come from { $ice } on; lowest air { $lowest }.
   *[other] A cold spell is coming: { $sites } sites to call first. First ice may come from { $ice } on; lowest air { $lowest }.
}
watch-more-to-call = The spell has grown: { $sites } sites to call first, { $new } of them new. First ice may come from { $ice } on; lowest air { $lowest }.
watch-stale = The forecast is old: get a newer one before calling anybody. Until then the last list stands.
watch-no-plan = No plan could be made: { $why }. Until it can, the last list stands.
watch-thaw = Nobody is left to call first. Inspect and retest what was at risk before it is trusted again.
watch-subject-first-night = { $sites ->
    [one] Cold spell: { $sites } site to call first
   *[other] Cold spell: { $sites } sites to call first
}
watch-subject-more-to-call = Cold spell has grown: { $sites } sites to call first
watch-subject-stale = The forecast is old
watch-subject-no-plan = No plan could be made
watch-subject-thaw = Nobody left to call first
watch-letter-foot = Decided { $time }, word number { $id }; a message with the same number and time is the same word. It is worked out from a forecast and may be wrong. Local code and licensed or certified people go before it.
