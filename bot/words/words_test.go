package words

import "testing"

func TestLoad(t *testing.T) {
	w, err := Load()
	if err != nil {
		t.Fatal(err)
	}
	t.Log(w.Langs())
}
