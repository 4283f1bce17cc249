# What the expansion answer says.

## The supply and why

expansion-well-tank-takes = the well's pressure tank lies before the house, so heated water goes back into it
expansion-well-tank-too-small = the well's pressure tank takes only { $usable } below the limit and heating brings { $demand }: taken as closed
expansion-storage-at-relief = storage at { $hot } is where the heater's relief valve opens ({ $relief }): a hazard before it is a question of expansion
expansion-no-regulator = nothing regulates the street: the house stands at its { $street } whenever nothing is drawn, over the limit of { $limit }
expansion-regulator-does-not-hold = the pressure regulator does not hold its setting, so the street comes through to the house
expansion-regulator-closes = the regulator closes the plumbing, so a tank goes with it
expansion-tank-is-marginal = the tank ends { $over } over the limit ({ $short } short), less than the readings are sure to ({ $unsure }): read static and precharge again before replacing it

## What to do

expansion-nothing = Nothing more is needed.
expansion-precharge = { $precharge } (set with the tank isolated and drained)
expansion-precharge-at = { $precharge } at { $at } (set with the tank isolated and drained; it is another figure where the tank stands)
expansion-step-shut-energy-off = Shut the heater's energy off now, keep away from its relief pipe and call a licensed plumber; the rest comes after
expansion-step-fit-regulator = Fit a pressure regulator set to { $setting }
expansion-step-set-regulator = Set the pressure regulator to { $setting }
expansion-step-mend-regulator = Mend or replace the pressure regulator and set it to { $setting }
expansion-step-set-well-switch = Set the well's switch to stop the pump at { $setting }
expansion-step-fit-tank = Fit an expansion tank of at least { $volume }, precharge { $precharge }
expansion-step-replace-tank = Replace the tank that is there by one of at least { $volume }, precharge { $precharge }
expansion-step-set-precharge = Keep the tank that is there and set its precharge to { $precharge }
expansion-step-fit-relief = Fit an expansion relief valve set between { $low } and { $high }, drained through an air gap
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
expansion-label-tank-there = Tank there
expansion-label-measure = Measure
expansion-label-mind = Mind
expansion-closed-yes = yes
expansion-closed-no = no
expansion-closed-unclear = unclear
expansion-then-tank = static { $static }, tank { $volume } at { $precharge }: heating ends at { $end } (limit { $limit })
expansion-then-tank-unbounded = static { $static }, tank { $volume } at { $precharge }: nothing bounds the end (limit { $limit })
expansion-then-relief = static { $static }; the relief holds { $end } (limit { $limit })
expansion-then-nothing = the house stays at { $static } (limit { $limit })
expansion-then-undone = the house stands at { $static } (limit { $limit })
expansion-found = static { $static } ({ $static_from }), limit { $limit } ({ $limit_from })
expansion-found-bare = ; heated with nothing to take the water: { $end }
expansion-found-lifts = the heater's relief valve ({ $relief }) opens
expansion-found-passes = to { $end } at most
expansion-verdict-enough = enough: ends at { $end }, { $margin } below the limit
expansion-verdict-marginal = marginal: ends at { $end }, { $margin } over the limit, sure to { $unsure }
expansion-verdict-not-enough = not enough: ends at { $end }, { $margin } over the limit
expansion-verdict-unbounded = not enough: nothing bounds the pressure
expansion-verdict-failed = failed: water at its air valve, or no precharge left
expansion-explain = --explain tells the rest: alternatives, cautions, every reason.
expansion-mind = The heater's relief valve is never the control: never plug or cap it. Local code, the maker's instructions and a licensed plumber decide.

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
