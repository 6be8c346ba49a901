package bot

import "testing"

// TestBlankInAFigure: thousands with a blank are one figure where it fits the place; beside coffee that
// is loaded or taken out, a moisture and its kilograms are two; else it is asked.
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

// TestNoSuchMass: a mass that no place here holds many times over, or one below nought, is turned down
// wherever it is said; nothing of the first is left for a yes.
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

// TestAsideForHowLong: a call is put aside for a time that can be, and no other call than the one that was
// said is taken.
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
