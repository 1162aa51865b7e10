package marker
import ("testing";"fmt";"time";"strings";"os";"context")
func TestBSOld(t *testing.T){
 sum:=map[string]float64{};n:=0.0
 for _,p:=range readPublished(t,"HOPPER_NT"){
  if !strings.HasPrefix(p.name,"T"){continue}
  if f:=os.Getenv("T");f!=""&&!strings.HasPrefix(p.name,f){continue}
  line:=p.name
  for _,turned:=range []bool{false,true}{
  in:=p.instance(turned,true)
  ctx,c:=context.WithTimeout(context.Background(),3000*time.Millisecond)
  r,err:=Solve(ctx,in,Params{Seed:1});c()
  if err!=nil{t.Fatal(err)}
  line+=fmt.Sprint(" ",turned," ",r.Length/unit," ",r.Stats.Engine)
  sum[fmt.Sprint(turned)]+=float64(r.Length)/float64(unit)/2-100
  }
  fmt.Println(line)
  n++
 }
 for k,v:=range sum{fmt.Println(k,v/n)}
}
