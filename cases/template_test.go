package cases

import "testing"

// TestTemplatesLoad: what `new` prints is a case without faults.
func TestTemplatesLoad(t *testing.T) {
	for _, view := range []View{Section, Axisymmetric, Plan} {
		text, err := Template(string(view))
		if err != nil {
			t.Fatal(err)
		}
		c, err := Parse(string(view)+".toml", []byte(text), "", nil)
		if err != nil {
			t.Errorf("template %s has faults:\n%v", view, err)
			continue
		}
		if c.View != view {
			t.Errorf("template %s has view %s", view, c.View)
		}
	}
	if _, err := Template("elevation"); err == nil {
		t.Error(`Template("elevation") gave no error, want one that names the views`)
	}
}
