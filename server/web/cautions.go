package web

import "relevel/jobs"

// PackCaution goes with every packer.
var PackCaution = jobs.CautionWords(jobs.NothingBetween, jobs.JackAlone, jobs.Asbestos, jobs.LocalFirst)

// The cautions of forms and pages, each where its figures stand.
var (
	downCaution  = jobs.CautionWords(jobs.NothingBetween, jobs.JackAlone, jobs.LocalFirst)
	jackCaution  = jobs.CautionWords(jobs.JackAlone, jobs.BlockFirst, jobs.JackMarked, jobs.AskEngineer, jobs.LocalFirst)
	outCaution   = jobs.CautionWords(jobs.SupportOut, jobs.NothingBetween, jobs.NewPad, jobs.AskEngineer, jobs.LocalFirst)
	blockCaution = jobs.CautionWords(jobs.BlockFirst, jobs.SupportOut, jobs.NothingBetween, jobs.LocalFirst)
	cutCaution   = jobs.CautionWords(jobs.SawDepth, jobs.OneBoardFirst, jobs.JoistTops, jobs.SheetBraces, jobs.Asbestos, jobs.LeadPaint, jobs.AskEngineer, jobs.LocalFirst)

	belowCaution   = jobs.CautionWords(jobs.ConfinedSpace, jobs.PowerAndGas, jobs.Asbestos, jobs.LocalFirst)
	safetyCaution  = jobs.CautionWords(jobs.ConfinedSpace, jobs.PowerAndGas, jobs.JackAlone, jobs.BlockFirst, jobs.Asbestos, jobs.LeadPaint, jobs.LocalFirst)
	supportCaution = jobs.CautionWords(jobs.NothingBetween, jobs.JackAlone, jobs.BlockFirst, jobs.AskEngineer, jobs.LocalFirst)
	packersCaution = jobs.CautionWords(jobs.NothingBetween, jobs.JackAlone, jobs.Asbestos)
)

// LiftCaution goes with every plan of moves.
var LiftCaution = jobs.CautionWords(jobs.NoSafeRate, jobs.NothingBetween, jobs.JackAlone, jobs.BlockFirst, jobs.AskEngineer, jobs.LocalFirst)

// pageCautions are those of pages that are no forms.
var pageCautions = map[string]string{
	"moves": LiftCaution, "support": supportCaution, "packers": packersCaution, "below": belowCaution,
}
