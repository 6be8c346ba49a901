package bot

import (
	"bytes"
	"encoding/json"
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"
	"time"

	"lotbell/bot/draw"
	"lotbell/state"
)

// pictures runs the desk and gives what is then to be sent with a picture, by whom it goes to.
func (r *rig) pictures() map[string]*Picture {
	r.t.Helper()
	if err := r.desk.Run(r.now); err != nil {
		r.t.Fatal(err)
	}
	rows, err := r.db.Outbox("script", 1000)
	if err != nil {
		r.t.Fatal(err)
	}
	out := map[string]*Picture{}
	for _, row := range rows {
		var o Outgoing
		if err := json.Unmarshal(row.Body, &o); err != nil {
			r.t.Fatal(err)
		}
		if o.Picture != nil {
			out[row.To] = o.Picture
		}
		if strings.HasPrefix(row.Key, "summary/") && row.Expires == 0 {
			r.t.Errorf("the summary for %s never expires", row.To)
		}
	}
	return out
}

// curve is the curve of the first stay at a place as the chat would draw it.
func (r *rig) curve(place string) draw.Curve {
	r.t.Helper()
	u := r.desk.turn(r.now)
	u.msg = &Message{Lang: "en", At: u.at}
	return u.curveOf(r.desk.mill.StaysAt(place)[0])
}

// hours is how many hours after the rig's first hour, 8:00, an instant lies.
func hours(at time.Time) float64 {
	return at.Sub(time.Date(2026, 1, 12, 8, 0, 0, 0, time.UTC)).Hours()
}

// after moves the clock by minutes and says a line.
func (r *rig) after(minutes int, who, text string) {
	r.t.Helper()
	r.now = r.now.Add(time.Duration(minutes) * time.Minute)
	r.say(who, text)
}

// TestDrumCurve: the readings, the stop and the forecast of the chat are those that are drawn.
func TestDrumCurve(t *testing.T) {
	r := newRig(t)
	r.say("luis", "d1 load 2650kg hum 21")
	r.after(30, "luis", "d1 fire out")
	r.after(60, "luis", "d1 fire lit")
	r.after(60, "luis", "d1 hum 17.4")
	r.after(120, "luis", "d1 hum 14.6")
	r.after(100, "luis", "d1 hum 12.9")
	c := r.curve("d1")
	var values []float64
	for _, p := range c.Points {
		values = append(values, p.Value)
	}
	if !slices.Equal(values, []float64{21, 17.4, 14.6, 12.9}) {
		t.Errorf("drawn are %v", values)
	}
	if len(c.Stops) != 1 || math.Abs(hours(c.Stops[0].From)-0.5) > 0.01 ||
		math.Abs(hours(c.Stops[0].To)-1.5) > 0.01 {
		t.Errorf("stops %v, want 8:30 to 9:30", c.Stops)
	}
	if c.Target != 10.5 || c.Labels.Target != "target 10.5" {
		t.Errorf("target %v %q", c.Target, c.Labels.Target)
	}
	v, _ := r.desk.look("d1", r.now)
	f := v.Dry()
	if f.Likely.IsZero() || c.Early != f.Early || c.Likely != f.Likely || c.Late != f.Late {
		t.Errorf("window %v %v %v, forecast %v %v %v", c.Early, c.Likely, c.Late, f.Early, f.Likely,
			f.Late)
	}
	last := c.Ahead[len(c.Ahead)-1]
	if last.At.Sub(f.Likely).Abs() > time.Minute || math.Abs(last.Value-10.5) > 0.2 {
		t.Errorf("the forecast is drawn to %v, want the target at %v", last, f.Likely)
	}
}

// TestTankCurve: heat and tests by hand, the window of the line.
func TestTankCurve(t *testing.T) {
	r := newRig(t)
	r.say("ana", "t1 add 3000")
	if c := r.curve("t1"); len(c.Points) != 0 {
		t.Errorf("drawn without a reading: %v", c.Points)
	}
	r.after(60, "ana", "t1 top 19.5")
	r.after(300, "ana", "t1 22")
	r.after(300, "ana", "t1 slippery")
	r.after(180, "ana", "t1 rough")
	c := r.curve("t1")
	if len(c.Tests) != 2 || c.Tests[0].Full || !c.Tests[1].Full {
		t.Errorf("tests %v, want slippery then rough", c.Tests)
	}
	if _, err := c.PNG(); err != nil || !strings.HasPrefix(c.Title, "t1: temperature °C") {
		t.Errorf("%q: %v", c.Title, err)
	}
}

// TestSiloCurve: samples, and a band that grows around what is likely.
func TestSiloCurve(t *testing.T) {
	r := newRig(t)
	r.say("marta", "place yard air")
	r.say("marta", "s1 stored 7000kg hum 11 10 days ago")
	r.say("marta", "yard 21C 65%")
	r.say("marta", "s1 hum 11.2")
	c := r.curve("s1")
	if len(c.Points) < 2 || len(c.Band) == 0 || len(c.Band) != len(c.Ahead) {
		t.Fatalf("%d samples, %d of the band, %d ahead", len(c.Points), len(c.Band), len(c.Ahead))
	}
	for i, b := range c.Band {
		if !(b.Low < c.Ahead[i].Value && c.Ahead[i].Value < b.High) {
			t.Errorf("%v is not within %v", c.Ahead[i], b)
		}
	}
	first, last := c.Band[0], c.Band[len(c.Band)-1]
	if last.High-last.Low <= first.High-first.Low {
		t.Errorf("the band does not grow: %v to %v", first, last)
	}
}

// TestCurveOfMany: a place with readings every few minutes for days.
func TestCurveOfMany(t *testing.T) {
	r := newRig(t)
	r.say("luis", "d1 load 2650kg hum 40")
	for i := range 120 {
		r.after(7, "luis", fmt.Sprintf("d1 hum %.1f", 40-float64(i)/5))
	}
	r.put(Message{From: Address{"script", "luis"}, ID: "curve", At: r.now, Kind: Text,
		Text: "curve d1"}, "curve")
	p := r.pictures()["luis"]
	if p == nil || p.Name != "curva d1" || p.Wide != draw.Width || len(p.Body) > 16<<10 {
		t.Errorf("got %v", p)
	}
}

// TestNightIsNotForSharedPhones: the summary's picture goes to the manager's own phone alone, and
// stands in the outbox after a restart; asked for it goes where it was asked.
func TestNightIsNotForSharedPhones(t *testing.T) {
	r := sharedRig(t)
	r.say("ana", "t1 add 4200")
	r.now = state.At(time.Date(2026, 1, 12, 18, 0, 0, 0, time.UTC))
	got := r.pictures()
	own := got["marta"]
	if len(got) != 1 || own == nil || own.Name != "night" {
		t.Fatalf("pictures went to %v", got)
	}
	if err := r.db.Close(); err != nil {
		t.Fatal(err)
	}
	r.open()
	if after := r.pictures()["marta"]; after == nil || !bytes.Equal(after.Body, own.Body) {
		t.Error("the picture was lost with the restart")
	}
	if text := r.sent(); !strings.Contains(text, "SLEEP 18:00") {
		t.Errorf("sent %q", text)
	}
	r.n++
	r.put(Message{From: Address{"script", "box"}, ID: "asked", At: r.now, Kind: Text,
		Text: "night"}, "asked")
	if r.pictures()["box"] == nil {
		t.Error("a shared phone that asks gets no picture")
	}
}

// TestNightBars: a tank's window and test, no tank that is over, nobody's name but of who is on
// shift.
func TestNightBars(t *testing.T) {
	r := newRig(t)
	r.say("ana", "t1 add 3000")
	r.say("ana", "t1 21")
	u := r.desk.turn(r.now)
	u.msg = &Message{Lang: "en", At: u.at}
	b := u.barOf(r.desk.mill.StaysAt("t1")[0])
	v, _ := r.desk.look("t1", r.now)
	f := v.Tank()
	if len(b.Windows) != 1 || b.Windows[0] != (draw.Span{From: f.Early, To: f.Late}) ||
		len(b.Tests) != 1 || !b.Tests[0].Equal(f.NextTest) {
		t.Errorf("the bar %+v is not of the forecast %v %v %v", b, f.Early, f.Late, f.NextTest)
	}
	if text := u.onShift(); text != "" {
		t.Errorf("nobody is on shift: %q", text)
	}
	r.say("ana", "shift in t1")
	u = r.desk.turn(r.now)
	u.msg = &Message{Lang: "en", At: u.at}
	if text := u.onShift(); text != "On: ana." {
		t.Errorf("on shift: %q", text)
	}
	u.at = u.at.Add(5 * 24 * time.Hour)
	if b := u.barOf(r.desk.mill.StaysAt("t1")[0]); len(b.Windows)+len(b.Tests) != 0 {
		t.Errorf("five days later: %+v", b)
	}
	if p := u.nightPicture(true); p != nil {
		t.Errorf("nothing comes, and it is drawn: %v", p)
	}
}
