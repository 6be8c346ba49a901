// Package rules holds a mill's rule book and what follows from it: what is true of every place and
// stay at an instant and why, whom that calls, when to look again, and what another book would
// have rung. It reads no clock, touches no network and no file: an instant is handed in, and the
// same mill, book and instant give the same answer. The sums of the trade are in the packages
// below it. Read it in this order: [Book] (book.go), [Parse] (load.go), conditions (cond.go,
// truth.go), [Fact] and the tables of names (facts.go and its kin), [View] (view.go), what is
// worked out and kept ([Knowledge]), [Book.Evaluate], [Book.Decide], whom to call ([Whom]),
// [Watch], [Rehearse] and [Differ], [Book.Guard]. What follows is the reference of the book.
//
// # A book
//
// A book is a text in TOML: limits, calls, guards, summaries. It is read as a whole or not at all
// ([Mistakes]); then the one in force stays. An unknown key is a mistake. Text after # is for
// people. language = 1 says which version of this language it is written in; a book in a newer one
// is refused. A book has 256 KiB at most, a condition 500 characters and 20 brackets in brackets.
//
// # Limits
//
//	[limit.drum_air_wet]
//	value = 60
//	unit = "C"   # C, %, kg, pH, h, min or d (times), or none
//	low = 30     # the range in which a line of chat may set it
//	high = 75
//	why = "50 to 60 is the trade's band; the published limit is on the bean"
//
// A condition names it limit.drum_air_wet; names have small letters, digits and _. A value that is
// outside its range, or no number, is refused.
//
// # Calls
//
// A call rings when its condition begins to hold, and at most once at a time for a rule and a
// subject. An example with every key but the rarest:
//
//	[[call]]
//	name = "drum-hot"
//	kind = "alarm"           # alarm, alert or prompt
//	on = "drum"              # a kind of place, mill or post
//	per = "place"            # once for the place, as on intake and meter; else for every stay in it
//	rings = "air > 60 and air_age < 2h"
//	stops = "air < 58"       # else when rings does not hold
//	wait = "5min"            # held for so long before it rings
//	off = "5min"             # and before it is over
//	priority = 2             # 1 to 4; 2, 3, 4 for the kinds unless said
//	who = ["post"]           # whom first; the post unless said
//	then = ["lead 15min", "manager deputy 30min"]
//	again = "15min"          # after the last of them, until taken
//	respond = "20min"        # taken and still true: it rings again
//	asks = "air_c"           # what a bare answer means: a quantity, hand or wash
//	cause = "fire too strong"
//	consequence = "the bean is scorched"
//	action = "cut the heat by the damper, as trained"
//	say.en = "{place}: air {air} C is over the limit."
//	say.es = "{place}: aire {air} C, pasa del limite."
//
// A call may instead have an instant at which it is due:
//
//	[[call]]
//	name = "hand-test"
//	kind = "prompt"
//	on = "tank"
//	due = "next_test"              # rings = "now >= next_test"
//	until = "rough"                # and not (rough)
//	only = "process == 'washed'"   # and this; goes with rings too
//	say.en = "{place}: hand test now."
//
// An alarm must have cause, consequence, action and respond, for a signal that asks for no timely
// act of anybody is no alarm (ISA-18.2): it is an alert. Unless told it rings again every 15
// minutes. who and then name posts (kinds of place), roles, safety, everyone, or post: whoever
// works where it is. Those on shift are called, if none all of them; who cannot be reached, or may
// not be woken by it, is no answer, and the next are called at once. After the last rung the post and the managers are rung
// too. Calls of priority 4 wait from 21 to 5 o'clock. private = true keeps a call off shared
// phones; off_until and off_why switch it off.
//
// A sentence takes {place} and any name of its kind of subject, and has room in a plain SMS
// together with "STILL OPEN (999) " before it, whatever the figures.
//
// # Conditions
//
// Comparisons (< <= > >= == !=) are joined by and, or, not and brackets. not binds closest: write
// not (hum > 12). A side is a name, a number, a limit, a word in quotes, + - * / of such, abs(x),
// min(x, y), max(x, y), or a choice (hum < 20 ? 50 : 60). A name that is yes or no stands alone.
// Nothing else can be said, so nothing can run for long. Phones' “quotes”, ≥, ≤, –, AND and line
// breaks are understood; 88,5 and = are answered with what to write.
//
// Both sides have one unit; a bare number takes that of the other side. Times are written with
// theirs: 90s, 40min (or 40m), 2h, 1.5h, 30d. An instant plus or less a time is an instant, the
// difference of two instants is a time.
//
// A condition is yes, no or cannot tell. What nobody has read is not known, nor is a side that
// reads it, nor x / 0; yet a or b is yes when b is, and a and b is no when b is. Only yes rings. A
// call that cannot be told is asleep and is shown so; it is not taken for quiet. To ask whether
// something was read at all, ask hum_known.
//
// # How names move
//
// A still name changes by what is told only. An age grows and a left shrinks with the clock; a
// curve is a forecast read at the instant; steps change at instants they know. So the next instant
// at which time alone can change a condition is known to the millisecond, and nothing is looked at
// in between. Hence age, left and curve names stand alone on their side, at most one in a
// comparison, and are not compared by == or !=: that would hold for an instant.
//
// A wait counts as held when the condition held all that time, as far as is known now, while the
// coffee was there. Nothing pending is stored: a reading told late counts from when it was made.
//
// Readings give four names by one rule: x is the last value (the mean of several in one line),
// x_age how old it is, x_slope its change an hour over a quarter of an hour or more, x_known
// whether there is one. Marks give two: x, true from its note until its opposite, and x_age.
//
// # The life of a call
//
// In the words of ISA-18.2 and IEC 62682 (by way of secondary texts), and what people are told:
//
//	normal                   A  no call stands
//	unacknowledged           B  rang, and rings on up the ladder
//	acknowledged             C  taken by somebody; after respond it is B again (re-alarm)
//	returned to normal,      D  over, and nobody had taken it: told in what is due for a day, until
//	unacknowledged              somebody takes it or it rings again; one that was taken is A at once
//	latched                E F  not kept: there is no reset by hand
//	shelved                  G  put aside until an instant, then it rings on the same rung
//	suppressed by design     H  there is no coffee, or only says no: nothing rings, a call ends
//	out of service           I  off_until; its calls are withdrawn
//	stale input                 what it reads was never told, or is older than it asks for
//	on-delay, off-delay         wait, off
//	deadband                    a stop on the safe side of the limit
//	escalation                  the ladder: who, then; who cannot be reached, also once they were
//	                            rung, is no answer, and the next are called at once
//
// [Book.LifeOf] tells it of a call and a subject, and the chat does when it shows a call.
//
// Two ends are our own: a call that has lost its ground, since a reading was withdrawn or set
// right, is "taken back"; one whose rule is gone or off is "withdrawn". A new book looks at the
// present only: a call that still holds keeps its number, its answer and its rung.
//
// # Guards
//
//	[[guard]]
//	name = "unload-far"
//	on = ["unload"]       # acts, or the orders wash-ordered and unload-ordered
//	from = "drum"         # the kind of place the coffee is in; any unless said
//	stop = "ask"          # ask, pass-on or forbid
//	when = "abs(hum - target) > 1"
//	say.en = "{place} came out at {hum} %. Was the sample cooled?"
//
// A guard that cannot be told does not stand. An order may be turned back or passed on; of what has
// happened a guard only asks. It reads the names of the coffee and those on guard below.
//
// # Summaries
//
//	[[summary]]
//	name = "morning"
//	at = "0 5 * * *"      # minute hour day month weekday, on the mill's clock
//	to = ["manager"]      # as in who
//	shows = ["decide", "next", "night", "free", "room"]
//
// The parts ([Parts]) are decide, next, night, free, room, patios, fuel, intake, crew,
// season and picture.
//
// # What a keeper may not do
//
// Set a limit outside its range by chat; put a book in force without the safety calls help,
// power-out, drum-70 and smoke, or switch them off ([Book.Sound]); call an alarm what asks for no
// act; write a call whose rings and stops can hold together, that can hold never or always, or
// that rings for the same as another, however either is written. Safety texts that answer words
// like help are no part of the book.
//
// # A change is rehearsed
//
// A changed book is rehearsed over the last 30 days ([Rehearse]): what would have rung more, less,
// earlier or later. People answer as they did where the same rule rang for the same stay, as long
// after it; a call that did not ring then, or was over before anybody could answer, counts as
// answered after its post's median, without one after the mill's, and never while nobody has
// answered any. Each call that rings for something else is told by itself ([Trial]): never, nearly
// always, or each time with another; of a kind of which fewer than 5 stays are over it cannot be
// told yet.
//
// # Names
//
// Every name, by the kinds of subject that have it: the unit, how it moves, what it is. A test
// holds this list to the code.
//
//	on everything
//	now               instant   age   the instant of looking
//	hour              h         steps the hour of the mill's clock, 0 to 23
//	night             yes or no steps between sunset and sunrise; 18 to 6 until the mill's
//	                                  position is known
//	sunset            instant   steps today's sunset; 18:00 until the mill's position is known
//	power_out         yes or no still the power is out
//	power_out_age     time      age   since the power went
//	water_out         yes or no still the water is out
//	water_out_age     time      age   since the water stopped
//	raining           yes or no steps it rains: said, and not said to be over; for 4 hours from
//	                                  the last word of it
//	rain_age          time      age   since rain was last told, until it is over
//
//	on mill
//	held_drums        number    still drums with coffee in them
//	lit_drums         number    still drums with coffee whose fire is not out
//	hot_drums         number    still drums with coffee and air last read over 40 C
//	held_tanks        number    still tanks with coffee in them
//	tanks_due_4h      number    steps tanks whose likely end is within 4 hours or past
//	waiting_kg        kg        still kilograms that wait between two places
//	tank_room_kg      kg        still kilograms that empty tanks can take
//	open_patios       number    steps patios with coffee that is not covered
//	fuel_h            h         still hours of fuel, as last told
//	drum_hours        h         steps hours of fire that the drums with coffee need, by their
//	                                  forecasts, as of the full hour
//
//	on post
//	post              word      still which post: tank, patio, drum, silo, …
//	silent_age        time      age   since anybody of the post last wrote; cannot be told before
//	                                  anybody has
//	running           number    still stays going on at the post
//	on_duty           number    steps people on shift at the post
//
//	on tank channel waiting patio predryer drum silo store
//	held              yes or no still coffee is there
//	age               time      age   since the first coffee came
//	came              instant   still when the first coffee came
//	last_in           instant   still when the youngest coffee came
//	fill_span         time      still from the first load to the last
//	mass_kg           kg        still kilograms there, as last weighed
//	capacity_kg       kg        still what the place holds
//	closed            yes or no still was called full
//	process           word      still washed unless told: washed, honey, natural
//	class             word      still the class; normal unless told
//	owner             word      still whose coffee; mill unless told
//	claim             word      still what it is certified as; none unless told
//	on_hold           yes or no still the lot is on hold
//	last_word_age     time      age   since anything was read or noted of it, else since it came
//	wet               yes or no still last read over 20 %, or never read and never in a drum
//	air               C         still last reading of air at the dial
//	air_age           time      age   age of that reading
//	air_slope         C         still its change an hour, over a quarter of an hour or more
//	air_known         yes or no still there is such a reading
//	temp              C         still last reading of the mass
//	temp_age          time      age   age of that reading
//	temp_slope        C         still its change an hour, over a quarter of an hour or more
//	temp_known        yes or no still there is such a reading
//	bean              C         still last reading of the coffee itself
//	bean_age          time      age   age of that reading
//	bean_slope        C         still its change an hour, over a quarter of an hour or more
//	bean_known        yes or no still there is such a reading
//	hum               %         still last reading of moisture, % wet basis
//	hum_age           time      age   age of that reading
//	hum_slope         %         still its change an hour, over a quarter of an hour or more
//	hum_known         yes or no still there is such a reading
//	ph                pH        still last reading of acidity
//	ph_age            time      age   age of that reading
//	ph_slope          pH        still its change an hour, over a quarter of an hour or more
//	ph_known          yes or no still there is such a reading
//	aw                number    still last reading of water activity
//	aw_age            time      age   age of that reading
//	aw_slope          number    still its change an hour, over a quarter of an hour or more
//	aw_known          yes or no still there is such a reading
//	weight_kg         kg        still last reading of the drum's scale
//	weight_kg_age     time      age   age of that reading
//	weight_kg_slope   kg        still its change an hour, over a quarter of an hour or more
//	weight_kg_known   yes or no still there is such a reading
//	depth_cm          number    still last reading of the layer, cm
//	depth_cm_age      time      age   age of that reading
//	depth_cm_slope    number    still its change an hour, over a quarter of an hour or more
//	depth_cm_known    yes or no still there is such a reading
//	ambient           C         steps last reading of the air outside or in the store
//	ambient_age       time      age   age of that reading
//	ambient_slope     C         still its change an hour, over a quarter of an hour or more
//	ambient_known     yes or no steps there is such a reading
//	rh                %         steps last reading of relative humidity of that air
//	rh_age            time      age   age of that reading
//	rh_slope          %         still its change an hour, over a quarter of an hour or more
//	rh_known          yes or no steps there is such a reading
//	loss_pct          %         still what was lost on the way here beyond drying, % of what was
//	                                  due; cannot be told unless both sides were weighed and their
//	                                  moisture is known
//
//	on drum predryer
//	dial_told         yes or no still the mill has said where the needle sits
//	dial_known        yes or no still the mill has said where the needle sits; cannot be told
//	                                  until then
//	air_before_fire_out yes or no still the fire is out, and the air was last read before it went
//	                                  out
//
//	on tank channel waiting patio predryer drum silo store mill
//	slippery          yes or no still noted, and nothing against it since
//	slippery_age      time      age   since it was noted
//	rough             yes or no still noted, and nothing against it since
//	rough_age         time      age   since it was noted
//	turned            yes or no still noted, and nothing against it since
//	turned_age        time      age   since it was turned, else since it came
//	covered           yes or no steps noted, not uncovered or turned since; until seven the next
//	                                  morning at most
//	covered_age       time      age   since it was noted
//	uncovered         yes or no still noted, and nothing against it since
//	uncovered_age     time      age   since it was noted
//	rewetted          yes or no still noted, and nothing against it since
//	rewetted_age      time      age   since it was noted
//	fire_out          yes or no still noted, and nothing against it since
//	fire_out_age      time      age   since it was noted
//	fire_low          yes or no still noted, and nothing against it since
//	fire_low_age      time      age   since it was noted
//	fire_lit          yes or no still noted, and nothing against it since
//	fire_lit_age      time      age   since it was noted
//	stopped           yes or no still noted, and nothing against it since
//	stopped_age       time      age   since it was noted
//	running           yes or no still noted, and nothing against it since
//	running_age       time      age   since it was noted
//	cleaned           yes or no still noted, and nothing against it since
//	cleaned_age       time      age   since it was noted
//	not_clean         yes or no still noted, and nothing against it since
//	not_clean_age     time      age   since it was noted
//	rinsed            yes or no still noted, and nothing against it since
//	rinsed_age        time      age   since it was noted
//	soak_start        yes or no still noted, and nothing against it since
//	soak_start_age    time      age   since it was noted
//	wash_asked        yes or no still noted, and nothing against it since
//	wash_asked_age    time      age   since it was noted
//	wash_ordered      yes or no still noted, and nothing against it since
//	wash_ordered_age  time      age   since it was noted
//	wash_refused      yes or no still noted, and nothing against it since
//	wash_refused_age  time      age   since it was noted
//	unload_asked      yes or no still noted, and nothing against it since
//	unload_asked_age  time      age   since it was noted
//	unload_ordered    yes or no still noted, and nothing against it since
//	unload_ordered_age time      age   since it was noted
//	sampled           yes or no still noted, and nothing against it since
//	sampled_age       time      age   since it was noted
//	smell             yes or no still noted, and nothing against it since
//	smell_age         time      age   since it was noted
//	foam              yes or no still noted, and nothing against it since
//	foam_age          time      age   since it was noted
//	mould             yes or no still noted, and nothing against it since
//	mould_age         time      age   since it was noted
//	smoke             yes or no still noted, and nothing against it since
//	smoke_age         time      age   since it was noted
//	overflow          yes or no still noted, and nothing against it since
//	overflow_age      time      age   since it was noted
//	insects           yes or no still noted, and nothing against it since
//	insects_age       time      age   since it was noted
//	warm              yes or no still noted, and nothing against it since
//	warm_age          time      age   since it was noted
//	cracked           yes or no still noted, and nothing against it since
//	cracked_age       time      age   since it was noted
//	mistake           yes or no still noted, and nothing against it since
//	mistake_age       time      age   since it was noted
//	bite_dry          yes or no still noted, and nothing against it since
//	bite_dry_age      time      age   since it was noted
//	clear             yes or no still noted, and nothing against it since
//	clear_age         time      age   since it was noted
//	fuel_out          yes or no still noted, and nothing against it since
//	fuel_out_age      time      age   since it was noted
//	help              yes or no still noted, and nothing against it since
//	help_age          time      age   since it was noted
//	help_over         yes or no still noted, and nothing against it since
//	help_over_age     time      age   since it was noted
//
//	on tank guard
//	first_test        instant   still when hand tests should begin
//	next_test         instant   still when the next hand test is due, the first one included;
//	                                  cannot be told once it is rough
//	spoil_warn        instant   still when the oldest fruit begins to be late
//	spoil             instant   still when the oldest fruit spoils
//	spoil_in          time      left  time left until the oldest fruit spoils; below 0 after it
//	ready_time        time      still from filling to ready at its temperature
//	progress          number    curve of the youngest fruit; 1 is ready
//	tank_status       word      still how far the forecast can be trusted: good, no-load,
//	                                  no-basis, too-cold, too-hot, rough, hands-differ,
//	                                  no-safe-hour
//
//	on tank patio predryer drum guard
//	ready_early       instant   still the early end of the window to wash, gather or unload
//	ready_likely      instant   still the likely instant of it
//	ready_late        instant   still the late end of it
//	ready_in          time      left  time left until the early end; below 0 after it
//
//	on patio predryer drum guard
//	next_reading      instant   still when a moisture reading would next be useful
//	drying            word      still what the forecast is worth: good, few-readings,
//	                                  surface-water, stalling, fire-out, heating-quick,
//	                                  unreachable
//	target            %         still moisture at which this mill unloads
//
//	on patio predryer drum guard silo store
//	hum_now           %         curve moisture now by the forecast, in a silo or a store by its
//	                                  drift; else as read in the last 3 hours
//
//	on silo store
//	emc               %         steps moisture the store's air draws the coffee to, % wet basis
//	                                  (Roa 1989)
//	aw_now            number    steps water activity: measured, else reckoned from moisture at the
//	                                  store's heat
//	hum_week          %         curve moisture in a week by its drift toward the store's air (Roa
//	                                  1989)
//	hum_spread        %         still points from the driest to the wettest of the last samples
//	                                  told in one line
//	temp_rise         C         still bean temperature less the lowest of the week before it
//
//	on tank channel waiting patio predryer drum silo store guard
//	sample_open       yes or no still a buyer's sample of the lot is out and not answered
//
//	on intake
//	oldest_age        time      age   since the oldest fruit that waits was picked (came, where
//	                                  nobody said); 0 when none waits; cannot be told before fruit
//	                                  was ever brought
//	waiting_kg        kg        still kilograms of fruit that wait: what was brought, less what
//	                                  went into tanks, 1000 kg of fruit making 564 pulped; cannot
//	                                  be told of fruit that nobody weighed
//
//	on intake mill
//	room_kg           kg        still kilograms of fruit that tanks still take, those that are not
//	                                  called full too; cannot be told while the size of one of
//	                                  them is not known
//
//	on meter
//	last_check        instant   still when it was last compared; until then, when the mill named
//	                                  it
//	check_age         time      age   since then
//	meter_off         %         still what it read more than the oven then, points
//
//	on guard
//	by_manager        yes or no still a manager does it
//	by_deputy         yes or no still a deputy does it
//	by_lead           yes or no still a shift lead does it
//	by_keeper         yes or no still a keeper does it
//	unanswered        time      still how long a call that asks for it has had no answer; 0 when
//	                                  there is none
//	here_held         yes or no still coffee lies where it would go
//	class_here        word      still class of what lies where it would go
//	owner_here        word      still owner of it
//	claim_here        word      still claim of it
//	cleaned_here      yes or no still the place was cleaned since it was emptied; cannot be told
//	                                  before it held coffee
//	kg_each           kg        still what one sack or basin weighed, where they were counted and
//	                                  weighed
//	kg_each_usual     kg        still the median of the last at such places, of 5 or more in 30
//	                                  days; else what the mill says that it weighs
package rules
