# What the phone desk says and does about a drip. The sentence to say has a part of its own and a closing that names who and
# by when; both together stay under 50 words, 20 seconds at 150 words a minute.

drip-ask = Ask: { $question }

## Who and by when, closing what is said

drip-by-plumber = A licensed plumber must see it { $when }.
drip-by-tester = A certified tester must see it { $when }.
drip-by-either = A certified tester or licensed plumber must see it { $when }.
drip-by-plumber-and-tester = A licensed plumber and a certified tester must see it { $when }.
drip-by-plumber-then-tester = A licensed plumber must see it { $when }, and a certified tester before it is used again.
drip-by-caller = Please look again yourself in 24 hours, and call us if it runs faster, warmer or longer.
drip-by-unless-known = If you cannot say, a certified tester or licensed plumber must see it { $when }.
drip-by-crew = Our crew must see it { $when }.
drip-by-crew-sent = I am sending for our crew now; stay clear of the water.
drip-by-desk = Our duty desk looks into it { $when }.
drip-by-supervisor = I am getting my supervisor now.
drip-by-supervisor-and-crew = I am getting my supervisor and our crew now; stay clear of the water.

## What is said of each finding

drip-say-emergency = Move away from it now, with everybody. Call { $number } from a safe place. I am getting my supervisor.
drip-say-gas = Leave the building now, with everybody, and switch nothing on or off. Call { $number } from outside. I am getting my supervisor.
drip-gas-out = Everybody leaves the building at once, on foot, and stays away from it; leave doors open behind you.
drip-gas-not = Do not switch anything on or off, not even a lamp or the heater; do not use a telephone or a doorbell inside; do not start a car beside it.
drip-gas-who = the emergency services and the gas company, and the utility's duty supervisor
drip-gas-who-plumber = the emergency services and the gas company, and the utility's duty supervisor; a licensed plumber for the heater
drip-say-odd-water = Please stop using the water now. I am connecting you with our water-quality lead.
drip-say-capped = That relief must always be able to open, or the tank can burst. Switch the heater off at its own control if it is quiet, keep everybody away, and call a licensed plumber now. If it steams or rumbles, call { $number }.
drip-say-fire = Please leave all the valves open. Call your fire protection contractor and the fire department's non-emergency line now; I am telling my supervisor.
drip-say-gushing = That is a lot of water. If the line feeds no fire protection and you can reach the valve before it safely, close it gently; you will have no water then.
drip-say-gushing-critical = That is a lot of water. Please leave the valves as they are.
drip-say-freeze-damage = Frost has probably broken a part. If the line feeds no fire protection and you can reach the valve before it safely, close it gently; you will have no water then.
drip-say-freeze-damage-critical = Frost has probably broken a part. Please leave the valves as they are until we call back.
drip-say-freezing = It is probably freezing right now. Open the nearest tap beyond the ice, warm it with warm air only, and find your valve before it thaws.
drip-say-working-freeze-drip = That can be how it works: in the cold the valve lets a little water run so that the pipe does not freeze.
drip-say-working-relief-port = That can be how it works: the valve lets a little out when the street pressure dips.
drip-say-working-expansion-relief = That can be how it works: it lets a little cold water out while the heater works.
drip-say-working-canopy = That can be how it works: it spurts while it fills, and should seal within a minute.
drip-say-working-test-cock = That can be how it works just after a test; it should be dry within the hour.
drip-say-working = That can be how it works.
drip-say-expansion = Pressure may build up when water heats, because your plumbing is closed. A plumber can measure that and give the water room.
drip-say-fault-heater = The heater's safety valve should not keep dripping. Keep hands away, and call back at once if the water turns hot.
drip-say-fault-expansion-relief = A relief that keeps running points to high pressure, a failed tank or dirt in the valve.
drip-say-fault-freeze-drip = That valve runs when it should not, or more than it should. Leave the supply on while frost is forecast.
drip-say-fault-covered = That opening must stay free. Take a loose cover off if it is safe; leave anything that is fixed.
drip-say-fault = What it lets out is a sign that service is due. Please keep the opening free.
drip-say-warm = Warm water should not come out there; it has come back from the heater. Keep hands away from it.
drip-say-leak = That looks like a leak. If the line feeds no fire protection you may close the valve before it gently; you will have no water then.
drip-say-leak-critical = That looks like a leak. Please leave the valves as they are.
drip-say-unknown = I cannot tell from that.

## Closing a valve, frost

drip-costs-water = Say it before it is done: with that valve closed, everything behind it is without water.
drip-tap-house = Open the cold tap nearest the frozen part, on the side away from the street, so that what melts has a way out.
drip-tap-irrigation = Open an outlet of the irrigation line beyond the frozen part, so that what melts has a way out.
drip-ask-fire = First ask: does this line feed fire sprinklers or hydrants? If yes or not sure, leave every valve open and hand over.

## Gushing

drip-gushing-crew = Send for the utility's crew to stop the water at the service now; stay on the line until it is on its way.
drip-gushing-who = the utility's crew now; then { $who }
drip-gushing-who-critical = the duty supervisor and the utility's crew now; then { $who }

## A heater's relief that cannot open

drip-capped-away = Get everybody out of the room of the heater and keep them out: a tank that cannot let pressure go can burst.
drip-capped-energy = Only if it is quiet and nothing steams: switch the heater off at its own control (the gas control to off, or its breaker), then leave the room too.
drip-capped-call = If it steams, rumbles, hisses or smells of gas: leave it, get out and call { $number }.
drip-capped-plumber = Have a licensed plumber come now, to free the relief before the heater is used again.
drip-capped-not = Do not touch, open or take off what closes the relief; do not heat again until the plumber has freed it. Do not draw hot water.
drip-capped-who = a licensed plumber and the utility's duty supervisor, now; the emergency services if there is heat, steam or noise
drip-capped-hand = Hand over now.

## Warm water on the cold side

drip-warm-who = a licensed plumber for the heater's side; a certified tester if the assembly's checks are behind it
drip-warm-now = Keep hands away from the water; it can turn hot without warning.

## Thawed the wrong way already

drip-flame-stop = Stop heating. Look and smell for smoke, scorching or a hot wall around the pipe; if there is any, everybody goes out and calls { $number }.
drip-flame-watch = Somebody stays and watches the place; what smoulders inside a wall shows late.
drip-flame-not = Do not use a flame on it again, nor hot water.
drip-flame-who = a licensed plumber, then a certified tester before it is used; the fire department first if there is smoke or scorching
drip-flame-hand = Hand over at once if there is smoke, a smell of burning, or a gas pipe beside it.
drip-flame-say = Please stop heating it now. Look for smoke or a scorched wall; if there is any, get out and call { $number }.
drip-hot-water-stop = Stop pouring, and mind the ice where the water ran.
drip-hot-water-look = Look for drips at joints, covers and test valves, now and again when the air warms: heat can split what the frost had spared.
drip-hot-water-not = Do not pour hot or boiling water on it again.
drip-hot-water-say = Please stop pouring hot water: it can crack a cold part. Look for drips at every joint, now and as it warms.
drip-thawed-not-used = Do not put it back into use until it is whole and a certified tester has tested it.
drip-thawed-who = a licensed plumber to look for splits, then a certified tester before it is used

## No water at all

drip-no-water-ask = Ask: are the neighbours without water too, and is anybody working in the street?
drip-no-water-file = Look up work on the main, outages and closed services for this address.
drip-no-water-valve = Ask whether anybody has closed a valve at the house, the assembly or the meter.
drip-no-water-taps = Have open taps closed, so that nothing floods when the water returns.
drip-no-water-fire = If sprinklers hang on this line they are without water too: hand over.
drip-no-water-not = Do not send a plumber before the utility has looked at the street's side.
drip-no-water-who = the utility's duty desk first; a licensed plumber if the street has water
drip-no-water-hand = Hand over now if somebody needs the water for health, or if several calls come from one street.
drip-no-water-say = Are your neighbours without water too? Please close open taps, so that nothing floods when it returns.

## Nobody knows whose water

drip-owner-take = Take the nearest address, how much it is and since when, and send for the utility's crew: it is the utility's main until shown otherwise.
drip-owner-clear = Keep people and cars away from it; in frost warn of ice.
drip-owner-meter = Ask whether the caller's meter turns with every tap off, for the crew to know.
drip-owner-not = Do not have anybody but the crew touch a valve in the street.
drip-owner-who = the utility's crew first; a licensed plumber once the water is shown to be the customer's
drip-owner-hand = Hand over now if it washes out ground, reaches a building, or freezes on a road.
drip-owner-say = We take it for our own pipe until it is shown otherwise. Please keep people and cars away.

## A bag put on

drip-wrapped-ask = Ask: how thick is it, is it dry and windproof down to the ground, and are the opening underneath and its drain free?
drip-wrapped-cold = Ask how cold it will be and for how long. With the assembly looked up, the forecast and the model answer.
drip-wrapped-free = Whatever is put on, the relief opening and its drain stay free.
drip-wrapped-who = you, with this one question; a licensed plumber if the caller cannot answer it
drip-wrapped-hand = Hand over if it feeds fire protection or somebody needs the water for health.
drip-wrapped-say = A wrap buys hours, it gives no heat. How thick is it, does it reach the ground, and is the opening underneath free?

## A test past its date

drip-tag-file = Look at the date of the last test on file: the tag may be older than the last report.
drip-tag-list = Give the utility's list of certified testers; the tester sends the report.
drip-tag-also = The tag is overdue too: the same visit can bring the test.
drip-tag-not = Do not let anybody but a certified tester test it or write the tag.
drip-tag-who = a certified tester of the caller's choice, from the utility's list
drip-tag-hand = Hand over if water comes out of it, or if it feeds fire protection.
drip-tag-say = The test is due. Please choose a certified tester from our list; the tester sends us the report.
