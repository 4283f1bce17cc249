# The desk's pages.

log-unread = The log of contacts cannot be used now: who has been called, who waits for a call and what was said is not known. Ask before you call anybody a second time, write notes on paper, and tell who looks after this desk.
log-unread-by-plan = The plan was made without the log of contacts, which could not be read: people who have been called already may stand in it. Make the plan again once the log can be read.
log-bad-rows = { $count ->
    [one] One row of the log cannot be read and was left out: ask who noted it and enter it again.
   *[other] { $count } rows of the log cannot be read and were left out: ask who noted them and enter them again.
}
