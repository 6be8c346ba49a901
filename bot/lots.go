package bot

import (
	"strings"
	"time"

	"lotbell/bot/words"
	"lotbell/state"
)

// What is said of coffee and not of a place is kept as tags of its lot: how it is processed, that
// it is not to be moved, who brought it and when it was picked, what was turned away from the
// delivery, what a buyer found in its sample. A lot keeps its tags wherever it goes.

// tagOf is the name under which a fact is kept of a lot; "" for all others.
func tagOf(what string) string {
	switch what {
	case SaysProcess:
		return "process"
	case SaysHold:
		return "hold"
	case SaysBy:
		return "supplier"
	case SaysPicked:
		return "picked"
	case SaysReject:
		return "rejected"
	case SaysSample:
		return "sample"
	}
	return ""
}

// tagBody is the tag that a fact puts on a lot; nil for other facts, and where the book has no such
// lot, which the sender is told.
func (t *turn) tagBody(f Fact) state.Body {
	name := tagOf(f.What)
	if name == "" {
		return nil
	}
	tag := state.Tag{Place: f.Place, Lot: f.Lot, Name: name, Value: tagValue(f)}
	switch f.What {
	case SaysBy, SaysPicked, SaysReject: // of the delivery that came last
		if tag.Lot == 0 {
			tag.Lot = t.newest(f.Place)
		}
	}
	switch {
	case tag.Lot != 0:
		tag.Place = t.lotPlace(tag.Lot)
	case f.What == SaysHold || f.What == SaysProcess:
		if tag.Place = t.stillAt(f.Place); len(t.mill.StaysAt(tag.Place)) == 0 {
			tag.Place = ""
		}
	default:
		tag.Place = ""
	}
	if tag.Place == "" {
		t.say("lot.unknown", "about", lotWords(f))
		return nil
	}
	return tag
}

// lotWords names the lot that a fact is about: its number, else its place.
func lotWords(f Fact) string {
	if f.Lot != 0 {
		return plainNumber(float64(f.Lot), 0)
	}
	return f.Place
}

// tagValue is what is kept of a fact under its tag's name.
func tagValue(f Fact) string {
	switch f.What {
	case SaysHold:
		return "yes"
	case SaysPicked:
		return f.At.Time().Format(time.RFC3339)
	case SaysReject:
		return plainNumber(f.Value, int(f.Digits)) + " " + f.Unit
	case SaysSample:
		return strings.TrimSpace(f.Word + " " + f.Said)
	}
	return f.Word
}

// newest is the lot that came last to a place; 0 when none is there.
func (t *turn) newest(place string) state.LotID {
	var lot state.LotID
	var came state.Instant
	for _, s := range t.mill.StaysAt(place) {
		if last := s.LastIn(t.at); lot == 0 || last >= came {
			lot, came = s.ID.Lot, last
		}
	}
	return lot
}

// lotPlace is where a lot lies; "" when the book has it nowhere.
func (t *turn) lotPlace(lot state.LotID) string {
	for _, s := range t.mill.OpenStays() {
		if s.ID.Lot == lot {
			return s.Place
		}
	}
	return ""
}

// placed is the place and lot that a reading or a note is kept at: where its lot lies, when it
// names one that the book has, else where it was said to be. What is told of an emptied tank and can
// only be of its coffee goes with the coffee.
func (t *turn) placed(f Fact) (place string, lot state.LotID) {
	if f.Lot != 0 {
		if place := t.lotPlace(f.Lot); place != "" {
			return place, f.Lot
		}
	}
	if f.What == state.SoakStart {
		return t.stillAt(f.Place), f.Lot
	}
	return f.Place, f.Lot
}

// brought lists the tags that a move gives its coffee besides: who brought it, and what it is where
// that is not what such a move brings.
func (t *turn) brought(f Fact) []state.Tag {
	to := t.destination(f)
	lot := t.newest(to)
	if lot == 0 {
		return nil
	}
	var out []state.Tag
	if f.What == state.ActIntake && f.Word != "" {
		out = append(out, state.Tag{Place: to, Lot: lot, Name: "supplier", Value: f.Word})
	}
	if f.Product != "" && f.Product != usualProduct(f.What) {
		out = append(out, state.Tag{Place: to, Lot: lot, Name: "product", Value: f.Product})
	}
	return out
}

// usualProduct is what a move brings when nobody says otherwise.
func usualProduct(act string) string {
	switch act {
	case state.ActIntake:
		return "cherry"
	case state.ActAdd:
		return "pulped"
	case state.ActUnload, state.ActStore, state.ActShip:
		return "dry"
	}
	return "wet"
}

// tagPhrase is a tag in a few words.
func (t *turn) tagPhrase(b state.Tag) string {
	value := b.Value
	switch b.Name {
	case "picked":
		if at, err := time.Parse(time.RFC3339, b.Value); err == nil {
			value = t.clock(state.At(at))
		}
	case "product":
		value = t.shown(words.Product, b.Value)
	case "rejected":
		value = t.amountWords(b.Value)
	case "process", "sample", "supplier":
		first, rest, _ := strings.Cut(b.Value, " ")
		value = strings.TrimSpace(t.shown(words.Talk, first) + " " + rest)
	case "class":
		value = t.shown(words.Class, b.Value)
	}
	key := "tag." + b.Name
	if !t.voice.Has("en", key) {
		return b.Name + " " + value
	}
	return t.voice.Say(t.lang(), key, "value", value)
}
