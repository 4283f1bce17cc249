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
desk-changed = Since you looked last ({ $since }): { $new } new to call first, { $gone } gone.
desk-why-tonight = { $fell ->
    [fell] Tonight's low fell from { $from } to { $to }.
   *[rose] Tonight's low rose from { $from } to { $to }.
}
desk-why-night = { $fell ->
    [fell] The low of the night of { $night } fell from { $from } to { $to }.
   *[rose] The low of the night of { $night } rose from { $from } to { $to }.
}
desk-why-forecast = The forecast was renewed; no night's low moved by as much as a degree.
desk-why-list = The list of assemblies changed.
desk-why-config = The config changed.
desk-why-time = What was read is the same: hours have passed, or calls and reports that were noted count now.
desk-crossed = The plan was renewed while your page was open. Nothing that you sent is lost; what you see now is of the newer plan.
desk-left-list = This assembly left the list while your page was open. What you typed still stands here: save it as the record of the call.
desk-claimed = { $by } is calling since { $at }.
desk-board-renews = This board refreshes itself every { $seconds } seconds or sooner.
desk-board-said = { $open } to call, { $overdue } overdue, { $tried } noted. Next deadline { $deadline }.
desk-board-beyond = { $count ->
    [one] One more call follows.
   *[other] { $count } more calls follow.
}
desk-watch-told = The standing watch told on { $at }: { $told }
desk-watch-no-plan = No plan could be made. Its record says why. Until it can, the last list stands.
desk-watch-refused = The newest plan of the standing watch ({ $name }) cannot be used. The one of { $at }, { $hours } hours old, stays in use:
desk-watch-refused-first = The newest plan of the standing watch ({ $name }) cannot be used, and there is no earlier one:
desk-watch-none = The standing watch keeps no plan that can be used, so there is no forecast here yet.
desk-watch-stopped = The standing watch has made no plan that can be used since { $at }, { $hours } hours ago: tell who looks after it. What these pages foresee rests on that forecast.
desk-watch-ahead = The files of the forecast have changed since the watch's plan of { $at }; these pages rest on the newer files.
