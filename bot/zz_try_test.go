package bot
import ("testing";"os";"strings";"lotbell/bot/words")
func TestZZ(t *testing.T){
 w,_:=words.Load()
 b,_:=os.ReadFile("/tmp/w/lines")
 for _,l:=range strings.Split(strings.TrimSpace(string(b)),"\n"){
  p:=strings.SplitN(l,"|",4)
  c:=floorContext(floorLine{lang:p[0],post:p[1],context:p[2],raw:p[3]})
  t.Logf("%s\n    %s",l,heardText(Read(p[3],c,w)))
 }
}
