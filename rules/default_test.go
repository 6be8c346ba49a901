package rules

import "testing"

func TestDefaultBookIsSound(t *testing.T) {
	b, err := Parse(DefaultText())
	if err != nil {
		t.Fatal(err)
	}
	if len(b.Calls) < 20 || len(b.Guards) < 4 || len(b.Summaries) < 3 {
		t.Errorf("%d calls, %d guards, %d summaries", len(b.Calls), len(b.Guards), len(b.Summaries))
	}
	if len(table) > maxFacts {
		t.Errorf("%d facts and room for %d", len(table), maxFacts)
	}
	used := map[string]bool{"target": true, "patio_to_drum": true}
	for _, r := range b.Calls {
		for _, c := range []*Cond{r.When, r.Clear} {
			if c != nil {
				for _, l := range c.Limits {
					used[l] = true
				}
			}
		}
		for _, lang := range []string{"en", "es"} {
			if r.Says[lang] == "" {
				t.Errorf("%s says nothing in %s", r.Name, lang)
			}
		}
	}
	for _, g := range b.Guards {
		for _, l := range g.When.Limits {
			used[l] = true
		}
	}
	for name := range b.Limits {
		if !used[name] {
			t.Errorf("limit %s is used by nothing", name)
		}
	}
}
