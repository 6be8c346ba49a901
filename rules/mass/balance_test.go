package mass

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

// TestBetween: 1000 lb of maize dried from 25.5 to 15.5 % with 0.5 % handling loss leave 876.7 lb
// (agronomy library page on moisture shrink): 118.3 water and 5 that moisture does not explain.
func TestBetween(t *testing.T) {
	l, err := Between(Weighing{1000, 25.5}, Weighing{876.7, 15.5})
	if err != nil {
		t.Fatal(err)
	}
	near(t, "total", l.Total, 123.3, 1e-9)
	near(t, "water", l.Water, 118.34, .005)
	near(t, "unexplained", l.Unexplained, 4.96, .005)
	near(t, "pct", l.Pct, .56, .005)

	same, err := Between(Weighing{1000, 53}, Weighing{1000, 53})
	if err != nil || same != (Loss{}) {
		t.Errorf("the same twice: %+v, %v", same, err)
	}
	none, err := Between(Weighing{0, 53}, Weighing{0, 11})
	if err != nil || none.Pct != 0 {
		t.Errorf("nothing: %+v, %v", none, err)
	}
}

func TestJudge(t *testing.T) {
	for _, c := range []struct {
		left, arrived float64
		want          Verdict
	}{
		{1000, 1000, Closes}, {1000, 1010, Closes}, {1000, 990, Closes},
		{1000, 1010.1, Ask}, {1000, 989.9, Ask}, {1000, 1050, Ask}, {1000, 500, Ask},
		{1000, 1050.1, Conflict}, {0, 1, Conflict}, {0, 0, Closes}, {1, 0, Ask},
	} {
		if got := Judge(c.left, c.arrived); got != c.want {
			t.Errorf("%g to %g: %v, want %v", c.left, c.arrived, got, c.want)
		}
	}
}

// TestClose is a made-up lot: 1000 kg of parchment at 11.5 % hulled into green at 11 %, husk at
// 8 %, and samples. On the basis of 11 % the parchment is 994.38 kg.
func TestClose(t *testing.T) {
	out := []Weighing{{800, 11}, {180, 8}, {2, 11}}
	b, err := Close([]Weighing{{1000, 11.5}}, out, 11)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "in", b.In, 994.38, .005)
	near(t, "out", b.Out, 988.07, .005)
	near(t, "unexplained", b.Unexplained, 6.31, .005)
	near(t, "pct", b.Pct, .635, .005)
	if b.Verdict != Closes {
		t.Errorf("verdict %v", b.Verdict)
	}
	b, err = Close(nil, out, 11)
	if err != nil || b.Verdict != Conflict || b.Pct != 0 || b.Verdict.String() != "conflict" {
		t.Errorf("out of nothing: %+v, %v", b, err)
	}
}

// TestBlendConserves: mass and dry matter of a blend are those of its parts, whatever the parts;
// its moisture lies between theirs; and splitting it again loses no gram.
func TestBlendConserves(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		parts := rapid.SliceOfN(rapid.Custom(drawWeighing), 0, 8).Draw(t, "parts")
		whole, err := Blend(parts...)
		if err != nil {
			t.Fatal(err)
		}
		var kg, dry float64
		low, high := WetBasis(100), WetBasis(0)
		for _, p := range parts {
			d, _ := DryMatter(p.Kg, p.Moisture)
			kg, dry = kg+p.Kg, dry+d
			low, high = min(low, p.Moisture), max(high, p.Moisture)
		}
		got, err := DryMatter(whole.Kg, whole.Moisture)
		if err != nil || math.Abs(got-dry) > 1e-9*(1+dry) || math.Abs(whole.Kg-kg) > 1e-9*(1+kg) {
			t.Fatalf("%+v: %v kg dry of %v kg, want %v of %v", parts, got, whole.Kg, dry, kg)
		}
		if kg > 1 && (whole.Moisture < low-1e-9 || whole.Moisture > high+1e-9) {
			t.Fatalf("moisture %v outside %v..%v", whole.Moisture, low, high)
		}
	})
}

// TestLossAddsUp: water and unexplained are the whole loss, and drying alone explains all of it.
func TestLossAddsUp(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		before, after := drawWeighing(t), drawWeighing(t)
		l, err := Between(before, after)
		if err != nil {
			t.Fatal(err)
		}
		if math.Abs(l.Water+l.Unexplained-l.Total) > 1e-9*(1+before.Kg+after.Kg) {
			t.Fatalf("%+v does not add up", l)
		}
		after.Kg, _ = At(before.Kg, before.Moisture, after.Moisture)
		if l, _ = Between(before, after); math.Abs(l.Unexplained) > 1e-9*(1+after.Kg) {
			t.Fatalf("drying alone left %v kg unexplained", l.Unexplained)
		}
	})
}
