package air

import (
	"encoding/csv"
	"errors"
	"fmt"
	"math"
	"os"
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

func near(t *testing.T, what string, got, want, tolerance float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tolerance) {
		t.Errorf("%s = %.7g, want %.7g ± %g", what, got, want, tolerance)
	}
}

// rows reads a table of testdata/air without its heading.
func rows(t *testing.T, name string) [][]string {
	t.Helper()
	f, err := os.Open("../../testdata/air/" + name)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	r := csv.NewReader(f)
	r.Comment = '#'
	all, err := r.ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	return all[1:]
}

func number(t *testing.T, text string) float64 {
	t.Helper()
	v, err := strconv.ParseFloat(text, 64)
	if err != nil {
		t.Fatal(err)
	}
	return v
}

// The rows are those PsychroLib 2.5.0 gives, ASHRAE Fundamentals 2017 ch. 1; the last three are
// air of 20 °C and 70 % heated up.
func TestMillAir(t *testing.T) {
	for _, c := range []struct{ temp, rh, alt, pa, w, wet, dew, h, v float64 }{
		{25, .50, 0, 101325.0, .009881, 17.889, 13.864, 50.322, .8580},
		{20, .70, 0, 101325.0, .010214, 16.441, 14.367, 46.046, .8441},
		{20, .70, 1200, 87715.5, .011829, 16.258, 14.367, 50.144, .9776},
		{22, .65, 1400, 85598.7, .012747, 17.317, 15.124, 54.533, 1.0100},
		{15, .90, 1500, 84555.9, .011499, 13.942, 13.374, 44.169, .9963},
		{20, .65, 1500, 84555.9, .011387, 15.525, 13.227, 49.021, 1.0134},
		{30, .40, 1500, 84555.9, .012749, 19.510, 14.936, 62.776, 1.0502},
		{50, .132565, 1400, 85598.7, .012127, 24.324, 14.367, 81.758, 1.1048},
		{55, .103883, 1500, 84555.9, .012280, 25.361, 14.367, 87.298, 1.1360},
		{60, .082089, 1700, 82501.2, .012592, 26.245, 14.367, 93.257, 1.1826},
	} {
		m, err := At(c.temp, c.rh, c.alt)
		if err != nil {
			t.Fatal(err)
		}
		what := fmt.Sprintf("%g °C %g %g m: ", c.temp, c.rh, c.alt)
		near(t, what+"pressure", m.Pa, c.pa, .06)
		near(t, what+"humidity ratio", m.HumidityRatio(), c.w, 1e-6)
		near(t, what+"wet bulb", m.WetBulb(), c.wet, .005)
		near(t, what+"dew point", m.DewPoint(), c.dew, .005)
		near(t, what+"enthalpy", m.Enthalpy(), c.h, .005)
		near(t, what+"volume", m.Volume(), c.v, 6e-5)
	}
}

// Saturation pressures by ASHRAE Fundamentals 2017 ch. 1 eq. 6, and the heating of air.
func TestSaturationAndHeating(t *testing.T) {
	for temp, pa := range map[float64]float64{10: 1228.00, 20: 2338.80, 25: 3169.22,
		50: 12349.86, 55: 15759.71, 60: 19943.76} {
		near(t, fmt.Sprintf("saturation at %g °C", temp), Saturation(temp), pa, .05)
	}
	m, err := At(20, .7, 1500)
	if err != nil {
		t.Fatal(err)
	}
	for temp, rh := range map[float64]float64{50: .132565, 55: .103883, 60: .082089} {
		hot := m.Heated(temp)
		near(t, "heated humidity", hot.RH, rh, 1e-6)
		near(t, "ratio kept", hot.HumidityRatio(), m.HumidityRatio(), 1e-12)
		near(t, "back again", hot.Heated(20).RH, .7, 1e-12)
	}
	if cold := m.Heated(5); cold.RH != 1 {
		t.Errorf("cooled below its dew point: humidity %g, want 1", cold.RH)
	}
}

// testdata/air/psychrolib.csv: npm psychrolib 1.1.1 over temperature, humidity and altitude.
func TestGrid(t *testing.T) {
	for _, row := range rows(t, "psychrolib.csv") {
		v := make([]float64, len(row))
		for i := range row {
			v[i] = number(t, row[i])
		}
		m, err := At(v[0], v[1], v[2])
		if err != nil {
			t.Fatal(err)
		}
		what := strings.Join(row[:3], " ") + ": "
		near(t, what+"pressure", m.Pa, v[3], .006)
		near(t, what+"saturation", Saturation(m.TempC), v[4], 6e-4)
		near(t, what+"humidity ratio", m.HumidityRatio(), v[5], 1e-8*v[5]+1e-12)
		if wet := m.WetBulb(); wet >= 0 && wet < .5 && v[6] < 0 { // it took the icy bulb of the two
			near(t, what+"icy bulb", ratioAtWetBulb(v[0], v[6], m.Pa), v[5], 1e-6)
		} else {
			near(t, what+"wet bulb", wet, v[6], .0011) // its own step is 0.001
		}
		near(t, what+"dew point", m.DewPoint(), v[7], .0011)
		near(t, what+"enthalpy", m.Enthalpy(), v[8], 6e-6)
		near(t, what+"volume", m.Volume(), v[9], 6e-7)
		near(t, what+"deficit", m.Deficit(), v[10], .006)
	}
}

// testdata/air/ashrae.csv: printed tables and example of ASHRAE 2017 ch. 1, each with the
// tolerance at which an ideal gas meets them.
func TestPrintedTables(t *testing.T) {
	for _, row := range rows(t, "ashrae.csv") {
		in := map[string]float64{}
		for _, field := range strings.Fields(row[1]) {
			if name, value, ok := strings.Cut(field, "="); ok {
				in[name] = number(t, value)
			}
		}
		want := number(t, row[2])
		kind, size, _ := strings.Cut(row[3], " ")
		tolerance := number(t, size)
		if kind == "rel" {
			tolerance *= math.Abs(want)
		}
		near(t, row[0]+" "+row[1], printed(t, row[0], in), want, tolerance)
	}
}

// printed computes what a row of the printed tables names.
func printed(t *testing.T, what string, in map[string]float64) float64 {
	saturated := Moist{in["T"], 1, in["p"]}
	mixed := Moist{TempC: in["T"], Pa: in["p"]}
	if mixed.Pa == 0 {
		mixed.Pa = standardPa
	}
	mixed.RH = mixed.Pa * in["W"] / (ratio + in["W"]) / Saturation(in["T"])
	var two Moist
	if dry, ok := in["Tdb"]; ok {
		m, err := FromWetBulb(dry, in["Twb"], in["p"])
		if err != nil {
			t.Fatal(err)
		}
		two = m
	}
	switch what {
	case "sat_vapour_pressure_Pa":
		return Saturation(in["T"])
	case "sat_humidity_ratio_kg_kg":
		return saturated.HumidityRatio()
	case "sat_air_enthalpy_J_kg":
		return 1000 * saturated.Enthalpy()
	case "humidity_ratio_kg_kg":
		if _, ok := in["pv"]; ok {
			return humidityRatio(in["pv"], in["p"])
		}
		return two.HumidityRatio()
	case "moist_air_enthalpy_J_kg":
		return 1000 * mixed.Enthalpy()
	case "moist_air_volume_m3_kg":
		return mixed.Volume()
	case "moist_air_density_kg_m3":
		return mixed.Density()
	case "std_pressure_Pa":
		return Pressure(in["z"])
	case "example1_humidity_ratio":
		return two.HumidityRatio()
	case "example1_dew_point_C":
		return two.DewPoint()
	case "example1_RH":
		return two.RH
	case "example1_enthalpy_J_kg":
		return 1000 * two.Enthalpy()
	case "example1_volume_m3_kg":
		return two.Volume()
	}
	t.Fatalf("no such quantity: %s", what)
	return 0
}

func TestRefused(t *testing.T) {
	for _, c := range []struct {
		err  error
		want string
	}{
		{second(At(20, 65, 1500)), "humidity 65 of 1: must be 0 to 1, for example 0.65"},
		{second(At(math.NaN(), .5, 0)), "temperature NaN °C: must be -100 to 200, for example 20"},
		{second(At(20, .5, 15000)), "altitude 15000 m: must be -5000 to 11000, for example 1500"},
		{second(FromWetBulb(20, 25, 101325)), "wet bulb 25 °C: must be -100 to 20, " +
			"for example 20 beside 40 dry"},
		{second(FromWetBulb(40, 20, 1)), "pressure 1 Pa: must be 20000 to 120000, " +
			"for example 101325"},
	} {
		if c.err == nil || c.err.Error() != c.want {
			t.Errorf("error %v, want %s", c.err, c.want)
		}
	}
	var r RangeError
	if _, err := FromWetBulb(40, 5, 101325); !errors.As(err, &r) || r.Low < 12 || r.Low > 15 {
		t.Errorf("wet bulb under that of dry air: %v", err)
	}
	if _, err := At(150, 1, 0); !errors.As(err, &r) || r.What != "vapour pressure" {
		t.Errorf("air of steam alone: %v", err)
	}
}

func second(_ Moist, err error) error { return err }

// Dew point ≤ wet bulb ≤ temperature, each gives the air back, and dry air has no dew point.
func TestThermometersAgree(t *testing.T) {
	if m, _ := At(20, 0, 0); !math.IsNaN(m.DewPoint()) || m.WetBulb() > 10 {
		t.Errorf("dry air: dew point %g, wet bulb %g", m.DewPoint(), m.WetBulb())
	}
	rapid.Check(t, func(t *rapid.T) {
		temp := rapid.Float64Range(1, 70).Draw(t, "temp")
		rh := rapid.Float64Range(.02, 1).Draw(t, "rh")
		m, err := At(temp, rh, rapid.Float64Range(0, 3000).Draw(t, "altitude"))
		if err != nil {
			t.Fatal(err)
		}
		dew, wet := m.DewPoint(), m.WetBulb()
		if wet > temp || (dew > 0 && dew > wet+1e-5) {
			t.Fatalf("dew %g, wet %g, dry %g", dew, wet, temp)
		}
		if pv := Saturation(dew); math.Abs(pv-m.VapourPressure()) > 1e-5*pv {
			t.Fatalf("dew point %g holds %g Pa, air has %g", dew, pv, m.VapourPressure())
		}
		back, err := FromWetBulb(temp, wet, m.Pa)
		if err != nil || math.Abs(back.RH-rh) > 1e-5 && wet > 1e-3 {
			t.Fatalf("back from the wet bulb: %g, %v", back.RH, err)
		}
	})
}
