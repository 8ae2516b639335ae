package underfloor

// Soil is what ground is presumed to carry where nobody tested it.
type Soil struct {
	Name   string
	KPa    float64 // 0: no value, an engineer
	Source string
}

const psf = 0.04788 // kPa

const (
	cfrLower = "24 CFR 3285.202, lower than IRC R401.4.1"
	cfrOnly  = "24 CFR 3285.202 (from memory), lower than IRC R401.4.1"
	bothSame = "IRC R401.4.1 (second-hand), as 24 CFR 3285.202"
	noValue  = "no published value: an engineer (24 CFR 3285.202)"
)

// soils holds of two published values the lower. IRC R401.4.1, at second hand,
// has rock at 12 000, sedimentary rock at 4 000, gravel at 3 000, sand at 2 000,
// clay and silt at 1 500 psf.
var soils = []Soil{
	{"rock", 4000 * psf, cfrLower},
	{"gravel", 2000 * psf, cfrLower},
	{"sand, medium dense", 1500 * psf, cfrLower},
	{"sand, loose", 1000 * psf, cfrLower},
	{"clay or silt, very stiff", 1500 * psf, bothSame},
	{"clay or silt, firm", 1000 * psf, cfrOnly},
	{"fill, peat or organic", 0, noValue},
}

// Soils lists presumptive values, the strongest ground first.
func Soils() []Soil { return append([]Soil(nil), soils...) }
