# What the expansion answer says.

## The supply and why

expansion-well-tank-takes = the well's pressure tank lies before the house, so heated water goes back into it
expansion-well-tank-too-small = the well's pressure tank takes only { $usable } below the limit and heating brings { $demand }: taken as closed
expansion-storage-at-relief = storage at { $hot } is where the heater's relief valve opens ({ $relief }): a hazard before it is a question of expansion
expansion-no-regulator = nothing regulates the street: the house stands at its { $street } whenever nothing is drawn, over the limit of { $limit }
expansion-regulator-does-not-hold = the pressure regulator does not hold its setting, so the street comes through to the house
expansion-regulator-closes = the regulator closes the plumbing, so a tank goes with it
expansion-tank-is-marginal = { $tanks ->
        [one] the tank ends { $over } over the limit ({ $short } short), less than the readings are sure to ({ $unsure }, { $unsure_water } of water): read static and precharge again before replacing it
       *[other] the tanks end { $over } over the limit ({ $short } short), less than the readings are sure to ({ $unsure }, { $unsure_water } of water): read static and precharges again before replacing them
    }

## What to do

expansion-nothing = Nothing more is needed.
expansion-precharge = { $tanks ->
        [one] { $precharge } (set with the tank isolated and drained)
       *[other] { $precharge } (set with each tank isolated and drained)
    }
expansion-precharge-at = { $tanks ->
        [one] { $precharge } at { $at } (set with the tank isolated and drained; it is another figure where the tank stands)
       *[other] { $precharge } at { $at } (set with each tank isolated and drained; it is another figure where the tanks stand)
    }
expansion-step-shut-energy-off = Shut the heater's energy off now, keep away from its relief pipe and call a licensed plumber; the rest comes after
expansion-step-fit-regulator = Fit a pressure regulator set to { $setting }
expansion-step-set-regulator = Set the pressure regulator to { $setting }
expansion-step-mend-regulator = Mend or replace the pressure regulator and set it to { $setting }
expansion-step-set-well-switch = Set the well's switch to stop the pump at { $setting }
expansion-step-fit-tank = Fit an expansion tank of at least { $volume }, precharge { $precharge }
expansion-step-replace-tank = Replace the tank that is there by one of at least { $volume }, precharge { $precharge }
expansion-step-set-precharge = Keep the tank that is there and set its precharge to { $precharge }
expansion-step-fit-relief = Fit an expansion relief valve set between { $low } and { $high }, drained through an air gap [UPC 608.2; IPC 504.6]
expansion-step-make-room = Make room for a tank of { $volume }, or for two that share it
expansion-step-look-at-limit = Ask for the pressure limit to be looked at: it leaves no room above a usable supply
expansion-kept-tank = Keep the tank that is there; nothing more is needed.
expansion-kept-tank-marginal = Keep the tank that is there, and read static and precharge again: it is marginal.
expansion-kept-relief = An expansion relief at { $setting } does it; nothing more is needed once it is there.

## Which reading decided

expansion-from-static = read in the house
expansion-from-street = the street, with no regulator
expansion-from-regulator-setting = the regulator's setting
expansion-from-street-through-regulator = the street, through a regulator that does not hold
expansion-from-well-cut-out = the well's cut-out
expansion-from-limit = as told or usual
expansion-from-rating = the lowest rating
expansion-from-heater-relief = a tenth under the heater's relief valve

## The page of text

expansion-label-do = Do
expansion-label-why = Why
expansion-label-closed = Closed
expansion-label-then = Then
expansion-label-found = As found
expansion-label-tank-there = { $tanks ->
        [one] Tank there
       *[other] Tanks there
    }
expansion-label-measure = Measure
expansion-label-mind = Mind
expansion-closed-yes = yes
expansion-closed-no = no
expansion-closed-unclear = unclear
expansion-then-tank = static { $static }, tank { $volume } at { $precharge }: heating ends at { $end } (limit { $limit })
expansion-one-tank = { $volume } at { $precharge }
expansion-then-tanks = static { $static }, tanks { $tanks }: heating ends at { $end } (limit { $limit })
expansion-then-tanks-unbounded = static { $static }, tanks { $tanks }: nothing bounds the end (limit { $limit })
expansion-then-tank-unbounded = static { $static }, tank { $volume } at { $precharge }: nothing bounds the end (limit { $limit })
expansion-then-relief = static { $static }; the relief holds { $end } (limit { $limit })
expansion-then-nothing = the house stays at { $static } (limit { $limit })
expansion-then-undone = the house stands at { $static } (limit { $limit })
expansion-found = static { $static } ({ $static_from }), limit { $limit } ({ $limit_from })
expansion-found-bare = ; heated with nothing to take the water: { $end }
expansion-found-lifts = the heater's relief valve ({ $relief }) opens
expansion-found-passes = to { $end } at most
expansion-verdict-enough = { $tanks ->
        [one] enough: ends at { $end }, { $margin } below the limit (sure to { $unsure }, { $unsure_water }); takes up to { $takes }, heating brings { $brings }
       *[other] enough: together they end at { $end }, { $margin } below the limit (sure to { $unsure }, { $unsure_water }); take up to { $takes }, heating brings { $brings }
    }
expansion-verdict-marginal = { $tanks ->
        [one] marginal: ends at { $end }, { $margin } over the limit (sure to { $unsure }, { $unsure_water }); takes up to { $takes }, heating brings { $brings }
       *[other] marginal: together they end at { $end }, { $margin } over the limit (sure to { $unsure }, { $unsure_water }); take up to { $takes }, heating brings { $brings }
    }
expansion-verdict-not-enough = { $tanks ->
        [one] not enough: ends at { $end }, { $margin } over the limit (sure to { $unsure }, { $unsure_water }); takes up to { $takes }, heating brings { $brings }
       *[other] not enough: together they end at { $end }, { $margin } over the limit (sure to { $unsure }, { $unsure_water }); take up to { $takes }, heating brings { $brings }
    }
expansion-verdict-unbounded = not enough: nothing bounds the pressure
expansion-verdict-failed = { $tanks ->
        [one] failed: water at its air valve, or no precharge left
       *[other] all failed: water at the air valve, or no precharge left
    }
expansion-explain = --explain tells the rest: alternatives, cautions, every reason.
expansion-mind = The heater's relief valve is never the control: never plug or cap it [IPC 504.4; IPC 504.6]. Local amendments come first (* is quoted from memory); local code, the maker's instructions and a licensed plumber decide.

## Readings to look at again: what is wrong, what was expected, what to do

expansion-slip-regulator-state-what = this state of a regulator is not known
expansion-slip-regulator-state-expected = one of { $names }
expansion-slip-regulator-state-remedy = Watch a gauge behind it over a night with nothing drawn.
expansion-slip-missing-cut-out-what = a needed reading is missing
expansion-slip-missing-cut-out-expected = the pressure at which the switch stops the well pump, such as "60 psi"
expansion-slip-missing-cut-out-remedy = Read it on the switch's label or on the gauge as the pump stops.
expansion-slip-static-limit-swapped-what = the limit ({ $limit }) is below the static pressure ({ $static })
expansion-slip-static-limit-swapped-expected = a limit above static
expansion-slip-static-limit-swapped-remedy = If the two were swapped, swap them back; the answer takes them as they stand.
expansion-slip-hot-unbelieved-what = { $hot } is below any usual storage ({ $other })
expansion-slip-hot-unbelieved-expected = 100 °F (38 °C) or more where the water is stored
expansion-slip-hot-unbelieved-remedy = If it was read in the other scale, write its unit; if it is so, add --accept-unusual.
expansion-slip-rise-unbelieved-what = no heater is set to warm the coldest supply by only { $rise }
expansion-slip-rise-unbelieved-expected = a rise of 20 °F (11 K) or more from the coldest supply to the hottest storage
expansion-slip-rise-unbelieved-remedy = Read both again with their units; if it is so, add --accept-unusual.
expansion-slip-beyond-what = is beyond what can be
expansion-slip-beyond-expected = { $low } to { $high }
expansion-slip-beyond-remedy = Read it again with its unit.
expansion-slip-unusual-what = is beyond what is usual
expansion-slip-unusual-expected = { $low } to { $high }
expansion-slip-unusual-remedy = Read it again with its unit; if it is so, add --accept-unusual.

expansion-from-list = smallest of the list that fits: { $name } ({ $volume }, takes { $takes })
expansion-from-list-several = fewest of the list that fit, side by side, each at that precharge: { $name } ({ $volume } together)

## The readings: their names and what a form says beside them

expansion-reading-heater = Heater volume
    .help = Such as 50 gal; several with semicolons, each with its own temperature as in 50 gal @ 140 F.
expansion-reading-cold = Coldest supply of the year
    .help = Such as 45 F.
expansion-reading-hot = Hottest storage
    .help = Thermostat and what it overshoots, such as 140 F.
expansion-reading-static = Highest static pressure
    .help = Gauge with a lazy hand over a day, such as 60 psi.
expansion-reading-limit = Pressure limit
    .help = 80 psi or 550 kPa when left empty [UPC 608.2; IPC 604.8*]; your code decides.
expansion-reading-closed-by = What stands between main and heater
expansion-reading-street = Highest pressure of the main
expansion-reading-street-day = Pressure of the main by day
expansion-reading-street-night = Pressure of the main by night
expansion-reading-regulator-setting = The regulator's setting
expansion-reading-regulator = The regulator over a night
    .help = holds, creeps or failed-open.
expansion-reading-well-cut-out = Well pump stops at
expansion-reading-well-cut-in = Well pump starts at
expansion-reading-well-tank = Volume of the well's pressure tank
expansion-reading-existing-tank = Volume of the tank that is there
    .help = Several with semicolons; its other readings in the same order.
expansion-reading-precharge = Its precharge
    .help = Read at the air valve with the tank isolated and drained; the word water when water came out.
expansion-reading-max-acceptance = Most water it may take
expansion-reading-tank-rating = Its highest working pressure
expansion-reading-water-at-air-valve = Water came out of its air valve
expansion-reading-room-for-tank = Largest tank there is room for
    .help = 0 for none.
expansion-reading-tank-height = Tank above the gauge
    .help = Below it negative.
expansion-reading-tank-temperature = Temperature where the tank stands
expansion-reading-precharge-temperature = Temperature at which its precharge was set
expansion-reading-kind = Kind of heater
    .help = storage, instantaneous, heat-pump, solar or hydronic; storage when left empty.
expansion-reading-hygiene = Highest temperature of a hygiene run
expansion-reading-stagnation = Highest temperature of a solar store with no draw
expansion-reading-stacking = What stacking adds to the hottest storage
    .help = Such as 10 F.
expansion-reading-mixing-valve = A mixing valve stands at the heater's outlet
expansion-reading-recirculation = Hot water recirculates
expansion-reading-pipe = Hot piping
    .help = Such as copper-L 3/4 in 60 ft.
expansion-reading-cold-pipe = Cold piping behind the closing device
expansion-reading-material-credit = Take the metal's own growth off
expansion-reading-elevation = Height above sea level
    .help = Such as 600 ft; sea level when left empty.
expansion-reading-heat-input = Heat input of the heater
    .help = Such as 40000 Btu/h or 4.5 kW.
expansion-reading-efficiency = Share of it that reaches the water
expansion-reading-daily-draw = Hot water used a day
expansion-reading-trapped-air = Air trapped in the plumbing
expansion-reading-relief-at = Relief that opens at
expansion-reading-relief-cap = Highest relief setting of your code [UPC 608.2]
expansion-reading-heater-relief = Pressure setting of the heater's relief valve
expansion-reading-heater-relief-temperature = Temperature setting of that valve
expansion-reading-rating = Lowest pressure rating of a part
expansion-reading-rigid = Take heater and pipe as perfectly rigid
expansion-reading-accept-unusual = Take unusual readings as they are
expansion-step-take-out-tank = { $count ->
        [one] Take out the tank that has failed; the rest do
       *[other] Take out the { $count } tanks that have failed; the rest do
    }
expansion-from-tank-rating = the lowest rating of a tank that is there
expansion-tank-number = tank { $number } ({ $volume })
expansion-add-beside = { $tanks ->
        [one] in place of replacing it, one of at least { $volume } beside what is there and sound does it too, every precharge set to { $precharge }
       *[other] in place of replacing them, one of at least { $volume } beside those that are sound does it too, every precharge set to { $precharge }
    }
expansion-caution-local-first = Local amendments come first: ask whoever has jurisdiction what was adopted. Sections named here are of the model codes (UPC 2015 to 2024, IPC 2018 to 2021); those with a star are quoted from memory.
expansion-caution-closed = A check, an assembly or a regulator without a bypass closes the plumbing, and storage heaters then need expansion control.
expansion-caution-solar = A solar store overheats when nobody draws: the answer is sized on the cut-off of its controller. Have that cut-off checked; it must stay below the relief valve's temperature. The collector loop with its own tank and relief is a heating loop and is not sized here.
expansion-caution-heat-pump = A heat pump's store is now and then heated above its dial by its element or a hygiene run: tell that temperature, or the answer is too small.
expansion-caution-instantaneous = A heater that stores nothing still pushes water into closed plumbing from its coil and the hot pipes; the rule asks for expansion control whatever the kind of heater.
expansion-caution-sized-on-hygiene = Sized on the hygiene run at { $hot }, not on everyday storage.
expansion-caution-sized-on-stagnation = Sized on stagnation at { $hot }, not on everyday storage.
expansion-caution-mixing-valve = The checks in the mixing valve's inlets lie behind the heater: the tank goes on the cold line before the branch to the valve, never on the mixed side. Expansion counts the storage temperature, not that at the tap.
expansion-caution-recirculation = A check in the return keeps the loop turning one way and does not close the heater off by itself; the loop's pipes count as hot pipe. Where the return joins a mixing valve, trace that both checks leave the heater a way to the tank.
expansion-slip-unknown-kind-what = this kind of heater is not known
expansion-slip-unknown-kind-expected = one of { $names }
expansion-slip-unknown-kind-remedy = Read its label; a tank with a burner or element is storage.
expansion-slip-missing-stagnation-what = a needed reading is missing
expansion-slip-missing-stagnation-expected = the highest temperature that the solar store reaches when nothing is drawn, such as "180 F"
expansion-slip-missing-stagnation-remedy = Read the cut-off of its controller: sized on everyday storage, the tank would be far too small.
expansion-slip-not-as-many-what = this is told neither once for all tanks nor once for each
expansion-slip-not-as-many-expected = one, or { $names }: as many as tanks, in their order
expansion-slip-not-as-many-remedy = Put them in the order of the tanks.
expansion-slip-which-tank-what = several tanks are there, and it is not told at which air valve water came out
expansion-slip-which-tank-expected = the word water in place of that tank's precharge
expansion-slip-which-tank-remedy = Write the precharges in the order of the tanks.
expansion-slip-hydronic-what = a closed heating loop is not sized here: its tank follows from fill pressure, pump and a 30 psi (207 kPa) class relief under boiler codes, with a mix that is not plain water
expansion-slip-hydronic-expected = a heater of drinking water
expansion-slip-hydronic-remedy = Have it sized by whoever is licensed for boilers; the drinking-water heater beside it can be sized here.
expansion-slip-hygiene-below-what = the hygiene run ({ $other }) is below the hottest storage ({ $hot })
expansion-slip-hygiene-below-expected = a hygiene run hotter than everyday storage
expansion-slip-hygiene-below-remedy = Read both again; the hotter one counts.

## The record

expansion-householder-tank = { $tanks ->
        [one] For whoever lives here: heated water grows, and a device keeps it from going back to the street, so the tank takes it; have its air checked every year, and call a plumber when the heater's relief pipe drips.
       *[other] For whoever lives here: heated water grows, and a device keeps it from going back to the street, so the tanks take it; have their air checked every year, and call a plumber when the heater's relief pipe drips.
    }
expansion-householder-relief = For whoever lives here: heated water grows, and a device keeps it from going back to the street, so a small valve lets some out while the heater runs; that is its work: never cap it, and call a plumber when it runs on.
expansion-householder-supply = For whoever lives here: the pressure from the street is too high for this house; a regulator keeps it down.
expansion-householder-none = For whoever lives here: heated water can go back where it came from, so nothing need be fitted; ask again once anybody fits a valve, a filter or an assembly in the line.
expansion-householder-danger = For whoever lives here: this water is dangerously hot; keep away from the heater and its relief pipe until a licensed plumber has seen to it.
expansion-record-formula = Computed: gain V (v₂/v₁ − 1) with water by IAPWS-IF97; tank gain / (1 − P₁/P₂), absolute, air { $air } kPa (ASHRAE hydronic chapter); metal's growth not taken off. Rules as adopted locally: UPC 608, IPC 504, 604, 607.
expansion-record-formula-less-metal = Computed: gain V (v₂/v₁ − 1) less the metal's 3α ΔT, water by IAPWS-IF97; tank gain / (1 − P₁/P₂), absolute, air { $air } kPa (ASHRAE hydronic chapter). Rules as adopted locally: UPC 608, IPC 504, 604, 607.
expansion-record-mind = The heater's relief valve is a safety device, never the control: never plug, cap, valve off or reset it [IPC 504.4; IPC 504.6]. Hot water burns, children sooner: a listed mixing valve where water above 120 °F (49 °C) is stored [ASSE 1017*; IPC 412.5]; do not lower storage against expansion.
expansion-check-static = Static with a maximum-hand gauge, 24 hours
expansion-check-traced = Traced from meter to heater; utility asked about a check
expansion-check-storage = Storage measured at the nearest tap, not read off the dial
expansion-check-regulator = Regulator at { $setting }; static read again over a night
expansion-check-precharge = { $tanks ->
        [one] Precharge { $precharge }, isolated and drained; dated
       *[other] Precharge { $precharge } of each, isolated, drained; dated
    }
expansion-check-tank = { $tanks ->
        [one] Tank after the last check, supported; valve open, tagged
       *[other] Tanks after the last check, supported; valves open, tagged
    }
expansion-check-heater-relief = Heater's relief and its pipe: there, free, in view
expansion-check-heat = Heat test: end pressure written down
expansion-check-tank-there = { $tanks ->
        [one] Tank there: air valve dry, top sounds hollow
       *[other] Tanks there: air valves dry, tops sound hollow
    }

## From the gauge

expansion-label-read = Read
expansion-label-water = Water
expansion-label-after = After
expansion-gauge-closed = yes: the pressure rose with the heating and stayed in the house
expansion-gauge-open = no, as far as a gauge can tell: closed plumbing would have risen, and this did not
expansion-gauge-unsettled = not settled: the rise is within the error of the gauge
expansion-gauge-rise = { $before } at rest, { $after } heated: a rise of { $rise }, sure to { $error }
expansion-gauge-expected = closed and with nothing to take the water it would have risen by { $bare }
expansion-gauge-expected-tank = { $tanks ->
        [one] closed it would have risen by { $tank } with the tank as told, by { $bare } with nothing
       *[other] closed it would have risen by { $tank } with the tanks as told, by { $bare } with nothing
    }
expansion-gauge-no-bound = more than any gauge reads
expansion-gauge-taken = heating brought { $gain }; something else than pipe and heater took { $taken }, sure to { $error }
expansion-gauge-give = all that gives: { $give } over { $span } of rise, sure to { $error }; of it pipe and heater as computed { $walls }
expansion-gauge-untold = something took water that was not told of: air, a hose, plastic pipe, or a tank
expansion-gauge-tank-as-charged = { $tanks ->
        [one] it takes what it should
       *[other] they take what they should
    }
expansion-gauge-tank-lost = { $tanks ->
        [one] it takes less than it should: it has lost charge, or part of its water side is shut
       *[other] they take less than they should: one has lost charge, or part of the water side is shut
    }
expansion-gauge-tank-high = { $tanks ->
        [one] it takes less than it should, and only at the end: it is charged above static
       *[other] they take less than they should, and only at the end: they are charged above static
    }
expansion-gauge-tank-nothing = { $tanks ->
        [one] it takes nothing: full of water, its diaphragm gone, or its valve shut
       *[other] they take nothing: full of water, the diaphragms gone, or a valve shut
    }
expansion-gauge-tank-more = { $tanks ->
        [one] it takes more than a tank of that volume can: look for air, a hose, another tank, or another volume
       *[other] they take more than tanks of those volumes can: look for air, a hose, another tank, or other volumes
    }
expansion-gauge-tank-unsettled = { $tanks ->
        [one] the readings do not tell how it is charged
       *[other] the readings do not tell how they are charged
    }
expansion-gauge-charge = precharge between { $low } and { $high } explains the readings
expansion-gauge-charge-high = so would one between { $low } and { $high }
expansion-gauge-stands = standing, it holds: no fall beyond { $error } an hour
expansion-gauge-falls = standing, it falls by { $fall } an hour beyond what cooling explains (sure to { $error }): some { $loss } an hour go somewhere
expansion-gauge-falls-or-cools = standing, it falls by { $fall } an hour (sure to { $error }); the water was not read, so this may be cooling alone
expansion-gauge-next-heat = heat by { $rise } or more with every tap shut: then this gauge can tell
expansion-gauge-next-precharge = { $tanks ->
        [one] read the precharge at the air valve with the tank isolated and drained to zero
       *[other] read the precharge of each at its air valve with the tank isolated and drained to zero
    }
expansion-gauge-next-tank = { $tanks ->
        [one] look whether the tank's valve is open, whether its top sounds hollow, and whether water comes out of its air valve
       *[other] look at each tank: whether its valve is open, its top sounds hollow, and water comes out of its air valve
    }
expansion-gauge-next-trace = trace the line from the meter to the heater: a gauge does not tell an open pipe from a tank or air that nobody knows of
expansion-gauge-next-stand = read again after an hour of standing, the stored water's temperature each time
expansion-gauge-next-loss = look for what runs: a relief pipe, a toilet, a dripping tap, a check that lets back
expansion-gauge-mind = Keep clear of the relief pipe, stop the heating at 150 psi (1000 kPa) or when a relief runs, open a tap before taking the gauge off. Local code and a licensed plumber decide.
expansion-step-replace-tanks = Replace the tanks that are there by one of at least { $volume }, precharge { $precharge }
expansion-step-set-precharges = Keep the tanks that are there and set the precharge of each to { $precharge }
expansion-kept-tanks = Keep the tanks that are there; nothing more is needed.
expansion-kept-tanks-marginal = Keep the tanks that are there, and read static and precharges again: they are marginal.
expansion-recirculation-aside = a check in a recirculation or mixing line lies beside the line that was traced
expansion-label-together = Together
expansion-gauge-agree = all { $count } readings fit one house: their misfit is { $misfit } of the errors told, where 1 is usual
expansion-gauge-disagree = the { $count } readings do not fit one house: their misfit is { $misfit } of the errors told, where 1 is usual; a tap was opened, the supply moved, or the gauge and the water are less sure than told
expansion-gauge-between = { $low } to { $high }
expansion-gauge-next-again = take the readings again with every tap shut all along, the supply watched, and gauge and water read in the same minute
expansion-precharge-meant-at = { $precharge } (at { $at })
expansion-caution-precharge-at = Set the precharge with the tank isolated and drained to zero, to the figure told for { $at }: the tank stands at { $stands } in service, where its gas reads another. Check it every year.
expansion-measure = { $how }: told { $told }; at { $turns } or { $way ->
        [more] more
       *[less] less
    } the answer is: { $becomes }
expansion-measure-static = static, with a maximum-hand gauge over a day and a night
expansion-measure-cold = the supply in the coldest month, at a cold tap run until it is steady
expansion-measure-hot = the storage, at the nearest hot tap right after the burner stops
expansion-measure-heater = the heater's volume, on its rating plate
expansion-measure-street = the main's highest pressure, from the utility or a maximum-hand gauge before the regulator
expansion-measure-precharge = the precharge, with the tank isolated and drained
expansion-measure-existing-tank = the tank's volume, on its label

## The tanks that are there, one or several

expansion-tank-there-label = { $tanks ->
        [one] Tank there
       *[other] Tanks there
    }
expansion-the-tank-there = { $tanks ->
        [one] The tank that is there
       *[other] The tanks that are there
    }
expansion-over-acceptance = { $tanks ->
        [one] it would have to hold { $would } and may hold { $may } (its maximum acceptance)
       *[other] they would have to hold { $would } and may hold { $may } (their maximum acceptances)
    }
expansion-can-take-more = { $tanks ->
        [one] it can take { $usable } more before { $limit }; heating brings { $demand }
       *[other] together they can take { $usable } more before { $limit }; heating brings { $demand }
    }
expansion-unbounded = { $tanks ->
        [one] nothing bounds the pressure once it is full: the heater's relief valve would lift
       *[other] nothing bounds the pressure once they are full: the heater's relief valve would lift
    }
expansion-enough-when-set = { $tanks ->
        [one] with its precharge set to { $precharge } (tank isolated and drained) it is enough
       *[other] with every precharge set to { $precharge } (tank isolated and drained) they are enough
    }
expansion-tank-is-enough = { $tanks ->
        [one] the tank can take { $usable } before { $limit }, and heating brings { $demand }
       *[other] the tanks can take { $usable } before { $limit }, and heating brings { $demand }
    }
expansion-tank-enough-once-set = { $tanks ->
        [one] the tank is large enough once its precharge is set to { $static }; as it stands it is not
       *[other] the tanks are large enough once every precharge is set to { $static }; as they stand they are not
    }
expansion-tank-marginal-once-set = { $tanks ->
        [one] with its precharge at { $static } the tank ends { $over } over the limit, less than the readings are sure to ({ $unsure }): read static again before replacing it
       *[other] with every precharge at { $static } the tanks end { $over } over the limit, less than the readings are sure to ({ $unsure }): read static again before replacing them
    }
expansion-tank-there-fails = { $tanks ->
        [one] the tank that is there does not hold the limit, and setting its precharge would not be enough
       *[other] the tanks that are there do not hold the limit, and setting their precharges would not be enough
    }
expansion-tank-there-enough-after = { $tanks ->
        [one] with the regulator at { $setting } and the precharge set to the same, the tank that is there is enough
       *[other] with the regulator at { $setting } and every precharge set to the same, the tanks that are there are enough
    }
expansion-diaphragm-failed = water at the air valve: the diaphragm has failed, so the tank takes up nothing
expansion-precharge-lost = no precharge is left: the tank has lost its air or its diaphragm has failed; look whether water comes out at the air valve
expansion-under-charged = under-charged: precharge { $precharge } against { $static } static; at rest { $at_rest } of water ({ $share } of the tank) already stand in it
expansion-over-charged = over-charged: precharge { $precharge } against { $static } static; no water enters before the pressure has risen to the precharge
expansion-precharge-above-limit = the precharge is at or above the limit of { $limit }: the tank takes up nothing before the limit is passed
expansion-chart-there = { $tanks ->
        [one] as found, tank there ({ $volume }): to { $end }
       *[other] as found, { $tanks } tanks ({ $volume }): to { $end }
    }
expansion-chart-advised = { $tanks ->
        [one] as advised, tank of { $volume }: to { $end }
       *[other] as advised, { $tanks } tanks of { $volume }: to { $end }
    }

## A new tank

expansion-label-bare = With nothing
expansion-label-tank = Tank
expansion-label-relief = Relief
expansion-tank-too-high = the tank would stand so high that the supply does not reach it
expansion-no-room-for-tank = no tank can do it: the static pressure of { $static } is at or above the limit of { $limit }, so there is no room between them; lower the supply pressure first
expansion-tank-takes-up = a tank of at least { $volume } takes up the water: { $share } of it fills between { $static } and { $limit }
expansion-saves-water = to save the water, a tank of at least { $volume } takes up the water: { $share } of it fills between { $static } and { $limit }
expansion-no-tank-holds = no tank holds the limit at this static pressure
expansion-would-lift = the pressure would reach { $reaches }: the heater's relief valve ({ $relief }) would lift
expansion-ends-below = the pressure ends at { $ends }, { $by } below the limit
expansion-ends-above = the pressure ends at { $ends }, { $by } above the limit
expansion-needed-in-total = { $volume } in total would be needed with the precharge at { $precharge }
expansion-too-large-for-room = a tank of { $needed } is needed and there is room for { $room }
expansion-no-relief-make-room = no relief holds the limit either, so room has to be made for the tank, or two tanks share it
expansion-tank-there-has-failed = { $tanks ->
        [one] the tank that is there has failed: water at its air valve, or no precharge left
       *[other] the tanks that are there have failed: water at the air valves, or no precharge left
    }
expansion-measure-hygiene = the hottest that its element or a hygiene run makes the store (--hygiene): sized on everyday storage, the tank may be too small

## The charts

expansion-chart-bare = as found, with nothing: to { $end } at most
expansion-chart-bare-unbounded = as found, with nothing
expansion-chart-relieved = with a relief set to { $setting }
expansion-chart-sizes = Tank size against supply pressure
expansion-chart-sizes-description = The smallest tank for { $volume } of expansion and a limit of { $limit } grows without bound as the supply pressure nears the limit.
expansion-chart-sizes-axis = smallest tank in total, { $unit }; precharge equal to the supply pressure
expansion-chart-supply-axis = supply pressure, { $unit } gauge
expansion-chart-now = now
expansion-chart-regulated = with a regulator
expansion-chart-size-at = { $name }: { $volume } at { $pressure }
expansion-chart-no-tank-beyond = limit { $limit }: from here on no tank
