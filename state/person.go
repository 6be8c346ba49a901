package state

import "time"

// Role is what somebody may decide.
type Role string

// The roles. A person may hold several.
const (
	Worker  Role = "worker"
	Manager Role = "manager" // decides washes and exceptions
	Deputy  Role = "deputy"  // decides when the manager does not answer
	Keeper  Role = "keeper"  // edits limits and rules, enrols people
	Lead    Role = "lead"    // of a shift
	Watch   Role = "watchman"
)

// Roles lists the roles.
func Roles() []Role { return []Role{Worker, Manager, Deputy, Keeper, Lead, Watch} }

// DutyEnds is how long a shift lasts when nobody says that it ended.
const DutyEnds = 14 * time.Hour

// Person is somebody of the mill, without a name: names are in the address book.
type Person struct {
	ID        PersonID
	Roles     []Role
	Posts     []Kind
	Lang      string
	Wakes     string  // as told of [Staff]
	OnSince   Instant // on shift since; 0: off
	DutySaid  bool    // has ever said on or off
	Reachable bool
	Leaving   Instant // went off at, and nobody has received what was in hand; 0: nothing is open
	Away      bool    // not at the mill
	AwayUntil Instant // 0: not told
}

// Is says whether the person holds a role.
func (p *Person) Is(r Role) bool {
	if p == nil {
		return false
	}
	for _, x := range p.Roles {
		if x == r {
			return true
		}
	}
	return false
}

// At says whether the person works at a post.
func (p *Person) At(post Kind) bool {
	if p == nil {
		return false
	}
	for _, x := range p.Posts {
		if x == post {
			return true
		}
	}
	return false
}

// AwayAt says whether the person is not at the mill at an instant, and so not to be called.
func (p *Person) AwayAt(at Instant) bool {
	return p != nil && p.Away && (p.AwayUntil == 0 || at < p.AwayUntil)
}

// The words of Wakes besides none.
const (
	WakesUrgent = "urgent"
	WakesNever  = "never"
)

// OnDuty says whether the person is on shift at an instant; a forgotten shift ends by itself.
func (p *Person) OnDuty(at Instant) bool {
	return p != nil && p.OnSince != 0 && at >= p.OnSince && at.Sub(p.OnSince) < DutyEnds
}

// The names of Set: facts about the site, numbers unless they say text.
const (
	SetZone     = "zone"       // text: an IANA zone, say America/Bogota
	SetLat      = "latitude"   // degrees, north positive
	SetLon      = "longitude"  // degrees, east positive
	SetAltitude = "altitude_m" // metres
	SetTarget   = "target_pct" // moisture at which a drum is unloaded, % wet basis
	SetUsual    = "usual_h"    // the mill's own usual hours from filling to washing
	SetDecimal  = "decimal"    // text: "." or ","
	SetFirstLot = "first_lot"  // the number before the first lot
	SetTell     = "help_line"  // text: whom to call for help, a number

	SetUsualCold = "usual_cold_h" // the usual hours in cold weeks
	SetLang      = "language"     // text: two letters, spoken to who has no language of their own
	SetRoute     = "route"        // text: the kinds of place along the coffee's way, by blanks
	SetPrepares  = "prepares"     // text: "no" when the parchment is sent on and prepared elsewhere
	SetFuel      = "fuel"         // text: what is burnt, husk or wood
	SetSack      = "sack_h"       // hours that a sack of it feeds one drum
	SetPulp      = "pulp_t_h"     // tonnes of fruit that are pulped in an hour
	SetGenerator = "generator"    // text: yes or no
	SetWater     = "water_hours"  // text: "6-18", the hours of the clock at which there is water
	SetPermit    = "permit"       // text: what the mill may let out, in its own words
	SetCertified = "certified"    // text: what fruit is certified as here, by blanks; none
	SetOwners    = "owners"       // text: whose coffee there is besides the mill's, by blanks; none
	SetAnnounced = "announced"    // fruit that is to come, kg; text: on which day, 2026-01-13
	SetSafety    = "safety."      // and language, a dot, a key: text: a caution in the mill's words
)

// Settings lists the names of Set.
func Settings() []string {
	return []string{SetZone, SetLat, SetLon, SetAltitude, SetTarget, SetUsual, SetDecimal,
		SetFirstLot, SetTell, SetUsualCold, SetLang, SetRoute, SetPrepares, SetFuel, SetSack,
		SetPulp, SetGenerator, SetWater, SetPermit, SetCertified, SetOwners, SetAnnounced}
}
