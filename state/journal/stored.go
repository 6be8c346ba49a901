package journal

import (
	"bytes"
	"encoding/binary"
	"encoding/json"
	"fmt"
	"math"
	"reflect"

	"lotbell/state"
)

// encodeEvent makes the record of an event, without its CRC.
func encodeEvent(e *state.Event) ([]byte, error) {
	k, body, err := encodeBody(e.Body)
	if err != nil {
		return nil, err
	}
	b := make([]byte, 0, 24+len(body))
	b = append(b, byte(k), version)
	b = binary.AppendUvarint(b, uint64(e.Seq-e.Msg))
	b = binary.AppendVarint(b, int64(e.At))
	b = binary.AppendVarint(b, int64(e.Heard-e.At))
	b = binary.AppendUvarint(b, uint64(e.By))
	return append(b, body...), nil
}

// encodeBody makes the JSON of a body. Text that is no UTF-8 is refused: JSON would put U+FFFD in
// its place, and the mill that was folded would not be the one that is read back. JSON writes that
// sign as an escape only then, and so the body is read back and compared only when the escape is
// there.
func encodeBody(b state.Body) (kind, []byte, error) {
	k, wire, err := wireOf(b)
	if err != nil {
		return 0, nil, err
	}
	js, err := json.Marshal(wire)
	if err != nil {
		return 0, nil, err
	}
	if bytes.Contains(js, []byte(`\ufffd`)) {
		back, err := decodeBody(k, version, js, vocabulary{})
		if err != nil || !reflect.DeepEqual(back, b) {
			return 0, nil, fmt.Errorf("%T has text that is not UTF-8", b)
		}
	}
	return k, js, nil
}

// wireOf gives a body's kind and wire form. Bodies are values: a pointer to one is not stored.
func wireOf(b state.Body) (kind, any, error) {
	switch b := b.(type) {
	case state.Reading:
		return kReading, wireReading(b), nil
	case state.Note:
		return kNote, wireNote(b), nil
	case state.Tag:
		return kTag, wireTag(b), nil
	case state.Move:
		return kMove, wireMove{b.Act, parts[wirePart](b.Out), parts[wirePart](b.In), b.Said}, nil
	case state.Amend:
		w, err := wireOfAmend(b)
		return kAmend, w, err
	case state.Set:
		return kSet, wireSet(b), nil
	case state.SetPlace:
		return kPlace, wirePlace(b), nil
	case state.SetMeasure:
		return kMeasure, wireMeasure(b), nil
	case state.Staff:
		return kStaff, wireStaff(b), nil
	case state.Duty:
		return kDuty, wireDuty(b), nil
	case state.Reach:
		return kReach, wireReach(b), nil
	case state.Adopt:
		return kAdopt, wireAdopt(b), nil
	case state.CallStep:
		return kCallStep, wireOfStep(b), nil
	case state.Blind:
		return kBlind, wireBlind(b), nil
	case state.Clock:
		return kClock, wireClock(b), nil
	case state.Start:
		return kStart, wireStart(b), nil
	}
	return 0, nil, fmt.Errorf("%T cannot be stored", b)
}

// wireOfAmend has the body that replaces another in its own kind and version.
func wireOfAmend(a state.Amend) (wireAmend, error) {
	w := wireAmend{Of: a.Of, At: a.At}
	if a.Body == nil {
		return w, nil
	}
	k, js, err := encodeBody(a.Body)
	w.Kind, w.Version, w.Body = string(rune(k)), version, js
	return w, err
}

// wireOfStep leaves out a window that is not given.
func wireOfStep(s state.CallStep) wireStep {
	w := wireStep{Rule: s.Rule, What: s.What, Number: s.Number, Priority: s.Priority, To: s.To,
		For: s.For, Rung: s.Rung, Until: s.Until, Since: s.Since, Book: s.Book, Reason: s.Reason,
		Of: wireSubject{s.Of.Kind, s.Of.Name, s.Of.Stay.Opened, s.Of.Stay.Lot}}
	if s.Window != [2]state.Instant{} {
		w.Window = s.Window[:]
	}
	for _, c := range s.Why {
		w.Why = append(w.Why, wireCompared{c.Text, figure(c.L), figure(c.R), c.LeftWord,
			c.RightWord, c.Is})
	}
	return w
}

// parts converts the parts of a move to or from their wire form.
func parts[To, From state.Part | wirePart](all []From) []To {
	if all == nil {
		return nil
	}
	out := make([]To, len(all))
	for i, p := range all {
		out[i] = To(p)
	}
	return out
}

// laterKind is a record of a kind or version that this program does not know.
type laterKind struct {
	kind    kind
	version byte
}

// Error names the kind and the version.
func (e laterKind) Error() string {
	return fmt.Sprintf("kind %q in version %d is not known", rune(e.kind), e.version)
}

// decodeEvent reads a record back, after its CRC was checked. Its Body shares the words of v. An
// error that is a laterKind is not damage.
func decodeEvent(seq state.Seq, b []byte, v vocabulary) (state.Event, error) {
	if len(b) < 2 {
		return state.Event{}, fmt.Errorf("record of %d bytes", len(b))
	}
	k, ver, rest := kind(b[0]), b[1], b[2:]
	back, n1 := binary.Uvarint(rest)
	at, n2 := binary.Varint(rest[max(n1, 0):])
	late, n3 := binary.Varint(rest[max(n1, 0)+max(n2, 0):])
	by, n4 := binary.Uvarint(rest[max(n1, 0)+max(n2, 0)+max(n3, 0):])
	if n1 <= 0 || n2 <= 0 || n3 <= 0 || n4 <= 0 || by > math.MaxUint32 {
		return state.Event{}, fmt.Errorf("record breaks off")
	}
	body, err := decodeBody(k, ver, rest[n1+n2+n3+n4:], v)
	return state.Event{Seq: seq, Msg: seq - state.Seq(back), At: state.Instant(at),
		Heard: state.Instant(at + late), By: state.PersonID(by), Body: body}, err
}

// decodeBody reads a body of any version up to this one. An older version is lifted here.
func decodeBody(k kind, ver byte, js []byte, v vocabulary) (state.Body, error) {
	if ver != version {
		return nil, laterKind{k, ver}
	}
	switch k {
	case kReading:
		w, err := parse[wireReading](js)
		v.share(&w.Place, &w.What, &w.Method, &w.Depth)
		return state.Reading(w), err
	case kNote:
		w, err := parse[wireNote](js)
		v.share(&w.Place, &w.What)
		return state.Note(w), err
	case kTag:
		w, err := parse[wireTag](js)
		v.share(&w.Place, &w.Name, &w.Value)
		return state.Tag(w), err
	case kMove:
		w, err := parse[wireMove](js)
		v.shareParts(w.Out)
		v.shareParts(w.In)
		v.share(&w.Act)
		return state.Move{Act: w.Act, Said: w.Said, Out: parts[state.Part](w.Out),
			In: parts[state.Part](w.In)}, err
	case kAmend:
		return decodeAmend(js, v)
	case kCallStep:
		return decodeStep(js, v)
	}
	return decodeSite(k, ver, js)
}

// decodeSite reads the bodies about the site and its people, which are few.
func decodeSite(k kind, ver byte, js []byte) (state.Body, error) {
	switch k {
	case kSet:
		w, err := parse[wireSet](js)
		return state.Set(w), err
	case kPlace:
		w, err := parse[wirePlace](js)
		return state.SetPlace(w), err
	case kMeasure:
		w, err := parse[wireMeasure](js)
		return state.SetMeasure(w), err
	case kStaff:
		w, err := parse[wireStaff](js)
		return state.Staff(w), err
	case kDuty:
		w, err := parse[wireDuty](js)
		return state.Duty(w), err
	case kReach:
		w, err := parse[wireReach](js)
		return state.Reach(w), err
	case kAdopt:
		w, err := parse[wireAdopt](js)
		return state.Adopt(w), err
	case kBlind:
		w, err := parse[wireBlind](js)
		return state.Blind(w), err
	case kClock:
		w, err := parse[wireClock](js)
		return state.Clock(w), err
	case kStart:
		w, err := parse[wireStart](js)
		return state.Start(w), err
	}
	return nil, laterKind{k, ver}
}

// decodeAmend reads an amendment and the body in it.
func decodeAmend(js []byte, v vocabulary) (state.Body, error) {
	w, err := parse[wireAmend](js)
	a := state.Amend{Of: w.Of, At: w.At}
	if err != nil || w.Kind == "" {
		return a, err
	}
	a.Body, err = decodeBody(kind(w.Kind[0]), w.Version, w.Body, v)
	return a, err
}

// decodeStep reads a step of a call.
func decodeStep(js []byte, v vocabulary) (state.Body, error) {
	w, err := parse[wireStep](js)
	v.share(&w.Rule, &w.What, &w.Of.Kind, &w.Of.Name)
	s := state.CallStep{Rule: w.Rule, What: w.What, Number: w.Number, Priority: w.Priority,
		To: w.To, For: w.For, Rung: w.Rung, Until: w.Until, Since: w.Since, Book: w.Book, Reason: w.Reason,
		Of: state.Subject{Kind: w.Of.Kind, Name: w.Of.Name,
			Stay: state.StayID{Opened: w.Of.Opened, Lot: w.Of.Lot}}}
	copy(s.Window[:], w.Window)
	for _, c := range w.Why {
		v.share(&c.Text, &c.LeftWord, &c.RightWord)
		s.Why = append(s.Why, state.Compared{Text: c.Text, L: float64(c.L), R: float64(c.R),
			LeftWord: c.LeftWord, RightWord: c.RightWord, Is: c.Is})
	}
	return s, err
}

// parse reads a wire form from JSON.
func parse[W any](js []byte) (w W, err error) {
	err = json.Unmarshal(js, &w)
	return w, err
}

// vocabulary keeps one copy of each word, so that a million events share a few hundred. A nil one
// shares nothing.
type vocabulary map[string]string

// wordsAtMost bounds a vocabulary against text that never repeats.
const wordsAtMost = 1 << 14

// share puts the kept copy in the place of each word.
func (v vocabulary) share(all ...*string) {
	for _, s := range all {
		if kept, ok := v[*s]; ok {
			*s = kept
		} else if v != nil && len(v) < wordsAtMost {
			v[*s] = *s
		}
	}
}

// shareParts does the same for the parts of a move.
func (v vocabulary) shareParts(all []wirePart) {
	for i := range all {
		v.share(&all[i].Place, &all[i].Class)
	}
}
