package rules

import (
	"encoding/csv"
	"fmt"
	"math"
	"os"
	"strconv"
	"strings"
	"testing"
	"time"

	"lotbell/rules/record"
)

// measuredRows reads a table of testdata/drying without its remarks and header.
func measuredRows(t *testing.T, name string) [][]string {
	t.Helper()
	f, err := os.Open("../testdata/drying/" + name)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	r := csv.NewReader(f)
	r.Comment = '#'
	rows, err := r.ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	return rows[1:]
}

// measured is a field of such a table, NaN where it is empty.
func measured(text string) float64 {
	x, err := strconv.ParseFloat(text, 64)
	if err != nil {
		return math.NaN()
	}
	return x
}

func wetBasis(dry float64) float64 { return 100 * dry / (100 + dry) }

// The textbook's tray dryer (Geankoplis) as a drum's record. Its air was not published: that which
// leaves coffee at the foodstuff's own equilibrium of 5.05 % dry basis is taken.
func TestTrayDryerRecord(t *testing.T) {
	text := "# Geankoplis, Transport Processes and Unit Operations, end-of-chapter problem \"Drying " +
		"tests\n" +
		"# with a foodstuff\" (tray dryer); testdata/drying/geankoplis.csv on the wet basis. The " +
		"date is\n" +
		"# made up, and so is the air, for it was not published: air of 20 C and 70 %, heated to " +
		"50 C,\n" +
		"# leaves coffee at the foodstuff's own equilibrium of 5.05 % dry basis.\n" +
		"time,moisture_pct,air_c,ambient_c,ambient_rh_pct,fire,method\n"
	start := time.Date(2026, 1, 12, 6, 0, 0, 0, time.UTC)
	for _, row := range measuredRows(t, "geankoplis.csv") {
		at := start.Add(time.Duration(math.Round(measured(row[0])*60)) * time.Minute)
		text += fmt.Sprintf("%s,%.2f,50,20,70,on,oven\n", at.Format(record.Layout),
			wetBasis(measured(row[2])))
	}
	holdSeries(t, "tray-dryer.csv", text)
}

// sticks are rows of the fuel sticks: columns i_h, local_time, M_db_BC1, M_db_BC2, T_C, RH_pct,
// wind_m_s, rain_mm, sun_W_m2.
type sticks [][]string

// falls lists from where to where a site's stick falls from a top over 25 to 14 % dry basis.
func (s sticks) falls(site int) (out [][2]int) {
	for i := 0; i < len(s); i++ {
		if !(measured(s[i][site]) >= 25) {
			continue
		}
		top := i
		for i < len(s) && measured(s[i][site]) > 14 {
			if measured(s[i][site]) > measured(s[top][site]) {
				top = i
			}
			i++
		}
		if i < len(s) && measured(s[i][site]) <= 14 && i-top < 200 {
			out = append(out, [2]int{top, i})
		}
	}
	return out
}

// lot is one fall as a patio's record: the air every three hours from a day before, moisture at 9,
// 12, 15 and 18 o'clock, until the first such reading at or under 14 %.
func (s sticks) lot(fall [2]int, site int) string {
	var b strings.Builder
	b.WriteString("time,moisture_pct,ambient_c,ambient_rh_pct,rain_mm\n")
	rain, first := 0.0, max(0, fall[0]-24)
	for i := first; i < len(s); i++ {
		row := s[i]
		at, err := time.Parse(record.Layout, row[1])
		if err != nil {
			return err.Error()
		}
		rain += measured(row[7])
		moisture := ""
		if m := measured(row[site]); i == fall[0] || i > fall[0] && !math.IsNaN(m) && at.Hour() >= 9 &&
			at.Hour() <= 18 && at.Hour()%3 == 0 {
			moisture = fmt.Sprintf("%.2f", wetBasis(m))
		}
		if moisture == "" && at.Hour()%3 != 0 && i != first {
			continue
		}
		fmt.Fprintf(&b, "%s,%s,%s,%s,%.1f\n", row[1], moisture, row[4], row[5], rain)
		if rain = 0; i >= fall[1] && moisture != "" && measured(row[site]) <= 14 {
			break
		}
	}
	return b.String()
}

// The fuel sticks' dryings as records of a patio, site by site.
func TestStickRecords(t *testing.T) {
	rows := sticks(measuredRows(t, "fuelsticks.csv"))
	for site, name := range []string{"bc1", "bc2"} {
		for i, fall := range rows.falls(2 + site) {
			text := "# Half-inch sticks of pine outdoors, site " + strings.ToUpper(name) +
				", a drying down to 14 % dry basis (12.28 % wet basis).\n" +
				"# van der Kamp D.W., Moore R.D., McKendry I.G. (2017) Agric. Forest Meteorol. 236:123-134,\n" +
				"# doi 10.1016/j.agrformet.2017.01.013; data dvdkamp/fsmm, MIT licence (c) 2019 Derek van " +
				"der\n" +
				"# Kamp; testdata/drying/fuelsticks.csv on the wet basis, read as a patio would be.\n" +
				rows.lot(fall, 2+site)
			holdSeries(t, fmt.Sprintf("sticks-%s/stick-%02d.csv", name, i+1), text)
		}
	}
}
