package seam_test
import ("testing";"relevel/jobs";"relevel/server/drawing";"encoding/json")
func BenchmarkFloor(b *testing.B){ f:=large(b); p:=jobs.Refold(job,f.log).Picture(f.end()); o:=pageOptions(0); o.Round=drawing.RoundOf(p.Rounds); b.ReportAllocs()
 for b.Loop(){ drawing.Floor(p,o)} ; b.ReportMetric(float64(len(drawing.Floor(p,o))),"bytes")}
func BenchmarkState(b *testing.B){ f:=large(b); p:=jobs.Refold(job,f.log); b.Run("picture",func(b *testing.B){for b.Loop(){ p.Picture(f.end())}}); q:=p.Picture(f.end()); b.Run("json",func(b *testing.B){for b.Loop(){ json.Marshal(q)}})
 b.Run("sheet",func(b *testing.B){ s:=drawing.Floor(q,pageOptions(0)); for b.Loop(){ json.Marshal(sheet{s})}})}
