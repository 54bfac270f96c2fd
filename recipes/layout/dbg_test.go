package layout
import ("testing";"context";"fmt")
func TestDbg(t *testing.T){
 r,ps:=designs(200)
 from,_:=Pack(context.Background(),r,ps,Effort{Seed:1,Moves:500})
 b:=processor()
 l,err:=Improve(context.Background(),r,ps,from,Effort{Seed:1,Evaluations:400_000},func(l Layout){fmt.Println("better",l.Length,processor()-b)})
 fmt.Println(l.Length,l.Evaluations,err,processor()-b, l.Bound, from.Length)
}
