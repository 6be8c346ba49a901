package state

// Kind is what a place is for. The words are the trade's; the floor's own names for them are data
// of the chat.
type Kind string

// The kinds of place. Floor is where coffee is that has left a place and reached no other; Air is
// where the weather or a store's air is read; Whole is the mill itself; Outside is where fruit
// comes from and green coffee goes to.
const (
	Intake   Kind = "intake"
	Pulper   Kind = "pulper"
	Tank     Kind = "tank"
	Channel  Kind = "channel"
	Waiting  Kind = "waiting"
	Patio    Kind = "patio"
	Predryer Kind = "predryer"
	Drum     Kind = "drum"
	Silo     Kind = "silo"
	Lab      Kind = "lab"
	Store    Kind = "store"
	Meter    Kind = "meter"
	Air      Kind = "air"
	Safety   Kind = "safety" // a post without a place
)

// The places that every mill has.
const (
	Floor   = "floor"
	Whole   = "mill"
	Outside = "outside"
)

// Kinds lists the kinds a keeper may give to a place, along the way of the coffee.
func Kinds() []Kind {
	return []Kind{Intake, Pulper, Tank, Channel, Waiting, Patio, Predryer, Drum, Silo, Lab, Store,
		Meter, Air}
}

// mixes says whether coffee that arrives becomes one with what lies there. On patios, in silos
// and stores and while waiting, lots lie side by side.
func (k Kind) mixes() bool { return k == Tank || k == Drum || k == Predryer }

// Place is where coffee can be, as the mill named it.
type Place struct {
	SetPlace
	Since Seq     // the event that last set it
	Named Instant // when it was first named
}

// The words of Note.What. Those of the whole mill are noted at Whole.
const (
	Slippery    = "slippery" // hand test: slip is left
	Rough       = "rough"    // hand test: like small stones, ready
	Full        = "full"     // no more loads
	Turned      = "turned"
	Covered     = "covered"
	Uncovered   = "uncovered"
	Rewetted    = "rewetted"
	FireOut     = "fire-out"
	FireLow     = "fire-low"
	FireLit     = "fire-lit"
	Stopped     = "stopped" // a machine stands
	Running     = "running" // a machine runs again
	Cleaned     = "cleaned"
	NotClean    = "not-clean"
	Rinsed      = "rinsed"
	SoakStart   = "soak-start"
	WashAsked   = "wash-asked"
	WashOrdered = "wash-ordered"
	WashRefused = "wash-refused"
	OutAsked    = "unload-asked"
	OutOrdered  = "unload-ordered"
	Sampled     = "sampled"
	Smell       = "smell"
	Foam        = "foam"
	Mould       = "mould"
	Smoke       = "smoke"
	Overflow    = "overflow"
	Insects     = "insects"
	Warm        = "warm"
	Cracked     = "cracked"
	Mistake     = "mistake"
	BiteDry     = "bite-dry"
	MeterCheck  = "compared" // a meter, with an oven or another meter
	Cleared     = "clear"    // looked at: smoke, smell, foam, mould, insects, warmth are gone
	RainStart   = "rain-start"
	RainComing  = "rain-coming"
	RainOver    = "rain-over"
	PowerOut    = "power-out"
	PowerBack   = "power-back"
	WaterOut    = "water-out"
	WaterBack   = "water-back"
	WaterShort  = "water-short"
	FuelOut     = "fuel-out"
	Help        = "help"
	HelpOver    = "help-over"
)

// Clears says whether a mark is one that [Cleared] ends.
func Clears(mark string) bool {
	switch mark {
	case Smoke, Smell, Foam, Mould, Insects, Warm, Overflow:
		return true
	}
	return false
}

// Marks lists every word a Note may carry.
func Marks() []string {
	return []string{Slippery, Rough, Full, Turned, Covered, Uncovered, Rewetted, FireOut, FireLow,
		FireLit, Stopped, Running, Cleaned, NotClean, Rinsed, SoakStart, WashAsked, WashOrdered,
		WashRefused, OutAsked, OutOrdered, Sampled, Smell, Foam, Mould, Smoke, Overflow, Insects,
		Warm, Cracked, Mistake, BiteDry, MeterCheck, Cleared, RainStart, RainComing, RainOver, PowerOut,
		PowerBack, WaterOut, WaterBack, WaterShort, FuelOut, Help, HelpOver}
}

// The words of Move.Act.
const (
	ActAdd    = "add"    // fruit or pulped coffee goes into a tank
	ActWash   = "wash"   // a tank is washed out
	ActSpread = "spread" // onto a patio
	ActGather = "gather" // off a patio
	ActLoad   = "load"   // into a drum or pre-dryer
	ActUnload = "unload" // out of a drum or pre-dryer
	ActStore  = "store"  // into a silo or store
	ActMove   = "move"   // anything else
	ActShip   = "ship"   // out of the mill
	ActIntake = "receipt"
)

// Acts lists every word a Move may carry.
func Acts() []string {
	return []string{ActAdd, ActWash, ActSpread, ActGather, ActLoad, ActUnload, ActStore, ActMove,
		ActShip, ActIntake}
}

// Quantity is what can be measured: the unit that values are kept in, and the range outside which
// a figure cannot be true of a mill whatever the instrument.
type Quantity struct {
	Name, Unit string
	Low, High  float64
}

// The names of Reading.What.
const (
	MassC    = "mass_c"    // of the fermenting mass
	AirC     = "air_c"     // of the drying air at the drum's dial
	BeanC    = "bean_c"    // of the coffee itself
	AmbientC = "ambient_c" // of the air outside or in a store
	AmbientH = "rh_pct"    // relative humidity of that air
	Moisture = "hum_pct"   // of the coffee, wet basis
	PH       = "ph"
	Aw       = "aw"
	WeightKg = "weight_kg" // a drum's scale
	Depth    = "depth_cm"  // of the layer
	Bags     = "bags"      // counted
	FloatPct = "float_pct"
	Unripe   = "unripe_pct"
	FuelH    = "fuel_h" // hours of fuel left

	FuelSacks = "fuel_sacks" // sacks of it, counted
	MeterOff  = "meter_off"  // what a meter read of a sample more than the oven, points
)

// Quantities lists what can be measured. The ranges are physical or those of the trade's
// instruments (common practice, no source), not limits of good work.
func Quantities() []Quantity {
	return []Quantity{
		{MassC, "C", 0, 55}, {AirC, "C", 0, 150}, {BeanC, "C", 0, 110}, {AmbientC, "C", -10, 60},
		{AmbientH, "%", 0, 100}, {Moisture, "%", 2, 75}, {PH, "pH", 2, 9}, {Aw, "", 0, 1},
		{WeightKg, "kg", 0, 100000}, {Depth, "cm", 0, 100}, {Bags, "bags", 0, 100000},
		{FloatPct, "%", 0, 100}, {Unripe, "%", 0, 100}, {FuelH, "h", 0, 10000},
		{FuelSacks, "sacks", 0, 100000}, {MeterOff, "%", -15, 15},
	}
}

// QuantityOf finds a quantity by name.
func QuantityOf(name string) (Quantity, bool) {
	for _, q := range Quantities() {
		if q.Name == name {
			return q, true
		}
	}
	return Quantity{}, false
}
