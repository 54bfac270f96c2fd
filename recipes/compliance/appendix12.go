package compliance

// appendix12 are the 33 substances of REACH Annex XVII entry 72 with their limits in mg/kg; at the limit is already
// prohibited. The phthalates are held together with the other reprotoxic phthalates of Annex XVII.
// Source: Reg (EU) 2018/1513, Annex, Appendix 12 (read). Metals are "after extraction".
var appendix12 = []Limit{
	each(AtOrAbove, 1, "mg/kg", "cadmium-extractable", "chromium-VI", "arsenic-extractable", "lead-extractable"),
	each(AtOrAbove, 5, "mg/kg", "benzene"),
	each(AtOrAbove, 1, "mg/kg", "benz[a]anthracene", "benz[e]acephenanthrylene", "benzo[a]pyrene", "benzo[e]pyrene", "benzo[j]fluoranthene", "benzo[k]fluoranthene", "chrysene", "dibenz[a,h]anthracene"),
	each(AtOrAbove, 1, "mg/kg", "4-chlorobenzotrichloride", "benzotrichloride", "benzyl chloride"),
	each(AtOrAbove, 75, "mg/kg", "formaldehyde"),
	together(AtOrAbove, 1000, "mg/kg", "DIHP", "DMEP", "DIPP", "DPENP", "DHEXP", "DEHP", "DBP", "BBP", "DIBP"),
	each(AtOrAbove, 3000, "mg/kg", "NMP", "DMAC", "DMF"),
	each(AtOrAbove, 50, "mg/kg", "disperse blue 1", "basic red 9", "basic violet 3", "quinoline"),
	each(AtOrAbove, 30, "mg/kg", "4-chloro-o-toluidinium chloride", "2-naphthylammonium acetate", "2,4-diaminoanisole sulphate", "2,4,5-trimethylaniline hydrochloride"),
}

// pahs are the eight hydrocarbons of entry 50.
var pahs = []string{"benz[a]anthracene", "benz[e]acephenanthrylene", "benzo[a]pyrene", "benzo[e]pyrene", "benzo[j]fluoranthene", "benzo[k]fluoranthene", "chrysene", "dibenz[a,h]anthracene"}

// phthalatesUS are the eight of the United States' rule. Source: 16 CFR 1307.3 (from memory; 15 USC 2057c, read, names
// DEHP, DBP and BBP).
var phthalatesUS = []string{"DEHP", "DBP", "BBP", "DINP", "DIBP", "DPENP", "DHEXP", "DCHP"}

func each(op Op, whole int64, unit string, of ...string) Limit {
	return Limit{Of: of, Op: op, Thousandths: 1000 * whole, Unit: unit}
}

func together(op Op, whole int64, unit string, of ...string) Limit {
	return Limit{Of: of, Together: true, Op: op, Thousandths: 1000 * whole, Unit: unit}
}
