# Before the season: offers, reasons, warming.

season-measure-wrap = an insulating wrap
season-measure-thick_wrap = a thick insulating wrap
season-measure-heat_trace = heat trace under a wrap
season-measure-cover = a cover
season-measure-heated_enclosure = a heated enclosure
season-measure-relocation = moving it into a building
season-measure-drain_kit = a drain kit and a reminder to drain it each autumn
season-measure-freeze_drip_valve = a freeze-drip valve

season-reason = As it stands it breaks in { $bare } of 10 winters, with { $measure } in { $with }: { $yearly } a year is at stake beyond what calls save, and { $cost } avoids { $benefit } over { $years } years, { $ratio } for each dollar.

season-warming-too-short = Station { $station }: { $winters } complete winters are too few to ask whether they are moving ({ $least } are needed).
season-warming-none = Station { $station }: no trend that this record can show (p { $p }, { $winters } winters). Winters under { $threshold } come { $still } in 10.
season-warming-trend = Station { $station }: winters under { $threshold } have gone from { $before } in 10 ({ $first }) to { $after } in 10 ({ $last }), p { $p }. Savings are counted for the years to come; as if nothing moved it would be { $still } in 10.

season-letter-subject = An offer to protect your backflow prevention assembly from frost
season-letter-greeting = Dear { $name },
season-letter-greeting-nobody = Dear customer,
season-letter-body = The backflow prevention assembly at { $address } ({ $what }) stands where frost can break it. Before the cold season we offer { $measure }. { $does }
season-letter-answer = If you would like it, call { $phone } and give the number { $id }. Places are limited; the offer goes to the next in line if we do not hear from you. If you do not want it, tell us too: we will not ask again.
season-letter-answer-nophone = If you would like it, answer this letter and give the number { $id }. Places are limited; the offer goes to the next in line if we do not hear from you. If you do not want it, tell us too: we will not ask again.
season-letter-end = Until it is fitted, and in a hard frost even with it, watch the forecast and our messages. Never plug, cap or bypass a relief port, never thaw with a flame, and never shut a fire line. Work on the assembly is for licensed people, and it is tested afterwards where the rules ask for it.

season-does-wrap = A wrap slows the cold and gives no heat: it helps through a frosty night, not through days of hard frost. Relief ports and drains stay open.
season-does-thick_wrap = A thick wrap slows the cold and gives no heat: it helps through long frosty nights, not through a week of hard frost. Relief ports and drains stay open.
season-does-heat_trace = A listed cable warms it on cold nights, under a wrap, on a protected circuit that must stay on; an electrician fits it.
season-does-cover = A cover keeps wind and sky away from it. It stays open to air and can be lifted for the test.
season-does-heated_enclosure = A heated enclosure holds it above freezing as long as its power stays on; an electrician connects it.
season-does-relocation = A licensed plumber moves it into a heated room with a drain that takes what its relief can pass.
season-does-drain_kit = With fittings to drain it and a reminder each autumn it stands empty in winter, when nobody needs its water.
season-does-freeze_drip_valve = A valve lets a little water run when it comes near freezing. It must be able to drip; leave it alone when it does.

season-yearly = { $assemblies } assemblies: frost is expected to cost { $gross } a year as they stand, { $net } of it beyond what the calls of a cold spell save.
season-interval = By the winters of the record alone, 9 in 10: the choice avoids { $low } to { $high }, the loss is { $yearly_low } to { $yearly_high } a year ({ $draws } draws of whole winters).
season-no-interval = One winter has no interval: how much hangs on it cannot be told.
season-as-recorded = The record shows a trend, so savings are counted for the years to come: { $moved }; as the winters were, the same choice would avoid { $recorded }.
season-so-far = Of earlier offers { $fitted } are fitted and counted as in place; { $committed } are spoken for by those accepted.
season-fire = { $lines } lines feed fire protection or may do so: draining, bleeding and moving are not offered for them.

season-desk-summary = { $spent } of { $budget } spent on { $chosen } of { $all } assemblies; avoids an expected { $benefit }. The next dollar saves { $shadow }, the next { $next } would save { $more }.
season-desk-best = No choice saves more.
season-desk-bound = No choice can save more than { $bound }.
season-desk-shown = The first { $shown } of { $all } offers.
