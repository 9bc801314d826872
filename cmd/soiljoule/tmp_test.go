package main
import ("testing";"strings")
func TestTmpDrawn(t *testing.T){
	n, codes := 0, map[int]int{}
	msgs := map[string]int{}
	for i := 200; i < 4000 && n < 150; i++ {
		c := drawCase(seed(uint64(i)))
		s := c.text.String()
		if !strings.Contains(s,"[conductor]") && !strings.Contains(s,"electrode = ") { continue }
		if !accepted(t,c) { continue }
		c = drawCase(seed(uint64(i)))
		n++
		o := runDrawn(t,c)
		codes[o.code]++
		if o.code==1 { e := o.err; if len(e)>300 {e=e[:300]}; msgs[e]++ }
	}
	t.Log(n, codes); for m,k := range msgs { t.Log(k,m) }
}
