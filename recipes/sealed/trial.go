package sealed

import (
	recordv1 "evenpeel/proto/evenpeel/record/v1"
	"evenpeel/recipes"
)

// OpenTrials reads the trials that a draft's bytes carry.
func (Codec) OpenTrials(s Sealed) ([]recipes.Trial, error) {
	m, err := ContentMessage(s)
	return trialsOf(m), err
}

// WithTrials is a draft's bytes with other trials.
func (Codec) WithTrials(s Sealed, trials []recipes.Trial) (Sealed, error) {
	m, err := ContentMessage(s)
	if err != nil {
		return s, err
	}
	m.Trials = trialMessages(trials)
	return marshalled(m)
}

func trialMessages(trials []recipes.Trial) (out []*recordv1.Trial) {
	for _, t := range trials {
		out = append(out, &recordv1.Trial{GarmentsCount: t.Garments, WashProcedure: t.Wash, DryProcedure: t.Dry, Cycles: t.Cycles, Outcome: t.Outcome, Tester: t.Tester, Day: t.Day, Words: t.Words})
	}
	return out
}

func trialsOf(m *recordv1.Content) (out []recipes.Trial) {
	for _, t := range m.GetTrials() {
		out = append(out, recipes.Trial{Garments: t.GetGarmentsCount(), Wash: t.GetWashProcedure(), Dry: t.GetDryProcedure(), Cycles: t.GetCycles(), Outcome: t.GetOutcome(), Tester: t.GetTester(), Day: t.GetDay(), Words: t.GetWords()})
	}
	return out
}
