package bot

import "testing"

// TestBlankInAFigure: thousands with a blank are one figure where it fits the place; beside coffee
// that is loaded or taken out, a moisture and its kilograms are two; else it is asked.
func TestBlankInAFigure(t *testing.T) {
	reads(t, [][2]string{
		{"es|drums|holds=d2|d2 baje 12 900kg", "said-back; [d2 unload=900kg]; [d2 hum_pct=12%"},
		{"es|drums|holds=d2|d2 cargada 20 900kg", "[d2 load=900kg; [d2 hum_pct=20%"},
		{"en|drums||d3 load 2 800 kg", "[d3 load=2800kg"},
		{"en|drums|holds=d3|d3 unload 11 2 010 kg", "[d3 unload=2010kg; [d3 hum_pct=11%"},
		{"es|tanks||t3 entro 4 200 kg", "[t3 add=4200kg"},
		{"es|tanks||t3 entro 22 200 kg", "asked ask=split?"},
		{"es|silo||s1 guardado 12 900 kg", "asked ask=split?"},
		{"es|patio||p2 tendido 62 600 kg", "asked ask=split?"},
	})
}

// TestNoSuchMass: a mass that no place here holds many times over, or one below nought, is turned
// down wherever it is said; nothing of the first is left for a yes.
func TestNoSuchMass(t *testing.T) {
	reads(t, [][2]string{
		{"es|tanks||t1 entro 99999999999999999999", "refused ask=figure?; no [t1"},
		{"es|tanks||t1 entro 2000000 kg", "refused ask=figure?; no [t1"},
		{"es|tanks||t1 entro 2000 t", "refused ask=figure?; no [t1"},
		{"es|intake||r1 99999999999 kg", "refused ask=figure?; no [r1"},
		{"es|silo|holds=s1|s1 conte 99999999999", "refused ask=figure?; no [s1"},
		{"es|tanks|last=t1.kg=500|no 99999999999999", "refused ask=figure?; no correct"},
		{"es|tanks||t1 entro 99999 kg", "[t1 add=99999kg ?mass"},
		{"es|tanks||t1 entro -500", `refused ask=figure? about="-500" near="500"; [t1 add=500kg`},
		{"es|tanks||t1 -500", "refused ask=figure?; no [t1"},
		{"es|tanks||t1 entro - 500", "[t1 add=500kg; no refused"},
		{"es|drums|holds=d1|d1 hum -12", `refused ask=figure? about="-12" near="12"`},
		{"es|tanks||no -480", "asked ask=which-line"},
		{"es|lab||lote 99999999999999 hum 12", "asked ask=what?"},
	})
}

// TestAsideForHowLong: a call is put aside for a time that can be, and no other call than the one
// that was said is taken.
func TestAsideForHowLong(t *testing.T) {
	reads(t, [][2]string{
		{"es|drums|call=1|luego 1 20m", "[ later=1 20 min]"},
		{"es|drums|call=1|luego 1 99999999h", "asked ask=how-long?"},
		{"en|drums|call=1|later 1 -5m", "asked ask=how-long?"},
		{"es|drums|call=1|ok -1", "asked ask=which-call; no ok"},
		{"en|drums|call=1|later 3 20m", "asked ask=which-call"},
		{"en|drums|call=1|later 30", "[ later=1 30 min"},
	})
}

// TestSwitchedOff: a drum that is switched off has no fire any more, a machine without a fire
// stands; no word for it takes a line back.
func TestSwitchedOff(t *testing.T) {
	reads(t, [][2]string{
		{"es|drums|holds=d1|apagar d1", "[d1 fire-out; no undo"},
		{"es|drums|holds=d1|d1 apague", "[d1 fire-out"},
		{"es|drums|holds=d1|apagué d1", "[d1 fire-out"},
		{"es|drums|holds=d1|d1 apague fuego", "[d1 fire-out"},
		{"en|drums|holds=d1|turn off d1", "[d1 fire-out"},
		{"en|drums|holds=d1|apagar d1", "[d1 fire-out; no undo"},
		{"es|drums|holds=d1|d1 pare", "[d1 stopped"},
		{"es|tanks||apagar pulper", "[pulper stopped; no fire-out"},
		{"en|tanks||power switched off", "power-out; no fire-out"},
		{"pt|tanks||apagar", "[ undo]; no fire-out"},
		{"en|tanks||apaga o ultimo", "[ undo]; no fire-out"},
	})
}

// TestMeasuredHasHappened: a bare verb beside what was measured is something done, said back, of
// whoever works there; "has to be" and a verb alone are wishes.
func TestMeasuredHasHappened(t *testing.T) {
	reads(t, [][2]string{
		{"es|drums|holds=p1|d1 cargar p1 2600 hum 20", "said-back; [d1 load=2600kg p1; [d1 hum_pct=20%"},
		{"es|drums|holds=p1|d1 cargar p1 1900kg hum 20", "said-back; [d1 load=1900kg p1"},
		{"es|manager|holds=p1|d1 cargar p1 1900kg hum 20", "said-back; [d1 load=1900kg p1"},
		{"es|drums|holds=d1|d1 bajar 10,6 2010", "[d1 unload=2010kg; [d1 hum_pct=10.6%"},
		{"en|manager|holds=d1|d1 unload 10,5 1400", "[d1 unload=1400kg; no ordered"},
		{"es|patio||p2 tender 2600kg", "[p2 spread=2600kg"},
		{"es|manager||d1 cargar", "[d1 asks load"},
		{"es|drums||d1 cargar", "[d1 asks load"},
		{"es|drums|holds=p1|d1 hay que cargar p1 1900kg", "[d1 asks load; no [p1"},
		{"en|manager|holds=d1|d1 unload 11", "asked ask=sure?"},
	})
}

// TestOneFigureOpen: what can only be one thing is kept, and the other figure alone is asked for.
func TestOneFigureOpen(t *testing.T) {
	reads(t, [][2]string{
		{"es|drums|holds=d1|d1 59 27", `said-back ask=what? about="27"; [d1 air_c=59C; no hum_pct=`},
		{"es|drums|holds=d1|d1 33", `asked ask=what? about="33"`},
		{"es|drums|holds=d1|d1 40 33", "asked ask=what?"},
		{"es|tanks|holds=t1|t1 ariba 20 medio 21", "[t1 mass_c=20C top]; [t1 mass_c=21C middle]"},
	})
}

// TestStillToCome: what lies ahead is asked, and so is what lies before the coffee or a harvest
// back; the question names the day and its year.
func TestStillToCome(t *testing.T) {
	reads(t, [][2]string{
		{"es|tanks||t1 entro 500 en 3 horas", `asked ask=sure? about="en 3 horas"`},
		{"en|tanks||t1 add 500 in 3 h", "asked ask=sure?"},
		{"es|tanks||t1 entro 500 hace 3 horas", "[t1 add=500kg"},
		{"es|tanks||t1 entro 500 hace 900 dias", "asked ask=time?; near=\"27.07.2023 10:00\"; [t1 add=500kg"},
		{"es|drums|call=14|voy en 20 min", "[ later=14 20 min"},
	})
}
