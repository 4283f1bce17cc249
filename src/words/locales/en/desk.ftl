# The desk's pages.

log-unread = The log of contacts cannot be used now: who has been called, who waits for a call and what was said is not known. Ask before you call anybody a second time, write notes on paper, and tell who looks after this desk.
log-unread-by-plan = The plan was made without the log of contacts, which could not be read: people who have been called already may stand in it. Make the plan again once the log can be read.
log-bad-rows = { $count ->
    [one] One row of the log cannot be read and was left out: ask who noted it and enter it again.
   *[other] { $count } rows of the log cannot be read and were left out: ask who noted them and enter them again.
}
log-away = { $count ->
    [0] The server of the log cannot be reached. This desk goes on: notes are kept on this computer and delivered when it is back. What other desks note meanwhile is not seen here, so ask before you call anybody.
    [one] The server of the log cannot be reached. This desk goes on: one note is kept on this computer and delivered when it is back. What other desks note meanwhile is not seen here, so ask before you call anybody.
   *[other] The server of the log cannot be reached. This desk goes on: { $count } notes are kept on this computer and delivered when it is back. What other desks note meanwhile is not seen here, so ask before you call anybody.
}
log-refused = { $count ->
    [one] The server of the log did not take one note, which is kept on this computer. Tell who looks after this desk.
   *[other] The server of the log did not take some of { $count } notes, which are kept on this computer. Tell who looks after this desk.
}
log-clock = The clock of this computer is off. Notes take the server's time; times on these pages may be wrong. Tell who looks after this desk.
plan-counts = { $at_risk } of { $all } assemblies are at risk. { $tiers }
plan-unranked = { $count ->
    [one] One row cannot be ranked and has somebody to tell: call too.
   *[other] { $count } rows cannot be ranked and have somebody to tell: call too.
}
plan-breaks = Expected to break if nobody acts: { $expected } ({ $low } to { $high } with the weather's error, { $low_local } to { $high_local } without{ $judged }).
judged-band = { $low } to { $high } by other judgement of what nobody has measured
