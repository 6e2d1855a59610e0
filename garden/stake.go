package garden

import "math"

// Stake is what a grower weighs before a treatment against a threat, for one
// planting. Cost and loss are in one measure of the grower's choice: money, hours,
// meals. What is left out is the program's stated default.
type Stake struct {
	Threat   string   `yaml:"threat" json:"threat,omitempty"`     // catalogue id; empty: every threat to the crop
	Crop     string   `yaml:"crop" json:"crop,omitempty"`         // id of a Crop; empty: every crop that the threat comes to
	Cost     *float64 `yaml:"cost" json:"cost,omitempty"`         // of one treatment with its work, 0 and above; with Loss
	Loss     *float64 `yaml:"loss" json:"loss,omitempty"`         // when the threat comes and nothing is done, above 0; with Cost
	Efficacy *float64 `yaml:"efficacy" json:"efficacy,omitempty"` // share of the loss that a treatment in time saves, above 0 to 1
}

// StakeFor returns what a grower entered for a threat to a crop; nil when
// nothing. A plot's own goes before the site's, and of one list what names both
// threat and crop before what names the threat, and that before the crop alone.
func StakeFor(s *Site, p *Plot, threat, crop string) *Stake {
	for _, list := range [][]Stake{p.Stakes, s.Stakes} {
		var best *Stake
		most := 0
		for i := range list {
			k := &list[i]
			if k.Threat != "" && k.Threat != threat || k.Crop != "" && k.Crop != crop {
				continue
			}
			rank := 0
			if k.Threat != "" {
				rank += 2
			}
			if k.Crop != "" {
				rank++
			}
			if rank > most {
				best, most = k, rank
			}
		}
		if best != nil {
			return best
		}
	}
	return nil
}

func (v *validator) stakes(list []Stake) {
	type key struct{ threat, crop string }
	seen := map[key]bool{}
	for i := range list {
		s := &list[i]
		switch {
		case s.Threat == "" && s.Crop == "" && !v.refused(&s.Threat, &s.Crop):
			v.fault(s, "stake names neither a threat nor a crop; write threat: late-blight, or crop: tomato, or both")
		case seen[key{s.Threat, s.Crop}]:
			v.fault(s, "there is another stake for the same threat and crop; keep one")
		}
		seen[key{s.Threat, s.Crop}] = true
		if s.Threat != "" {
			v.threatRef(&s.Threat)
		}
		if _, ok := CropByID(s.Crop); s.Crop != "" && !ok {
			v.fault(&s.Crop, "%s", unknownCrop(s.Crop))
		}
		v.stakeNumbers(s)
	}
}

func (v *validator) stakeNumbers(s *Stake) {
	switch {
	case s.Cost == nil && s.Loss == nil && s.Efficacy == nil:
		if !v.refused(&s.Cost, &s.Loss, &s.Efficacy) {
			v.fault(s, "stake has no number; write cost and loss, or efficacy")
		}
	case (s.Cost == nil) != (s.Loss == nil):
		if !v.refused(&s.Cost, &s.Loss) {
			v.fault(s, "cost and loss belong together, in one measure; write both or neither")
		}
	}
	if s.Cost != nil && !(*s.Cost >= 0 && !math.IsInf(*s.Cost, 0)) {
		v.fault(s.Cost, "cost %g is not a number from 0 up", *s.Cost)
	}
	if s.Loss != nil && !(*s.Loss > 0 && !math.IsInf(*s.Loss, 0)) {
		v.fault(s.Loss, "loss %g is not a number above 0; it is what the threat takes when nothing is done, in the measure of the cost", *s.Loss)
	}
	if s.Efficacy != nil && !(*s.Efficacy > 0 && *s.Efficacy <= 1) {
		v.fault(s.Efficacy, "efficacy %g is not above 0 and at most 1; it is the share of the loss that a treatment in time saves", *s.Efficacy)
	}
}
