package catalog

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"plotwarden/risk"
)

// The action thresholds, a row each, copied with their standing. MD: Univ.
// Maryland and Delaware guide; DE: Univ. Delaware; UT: Utah State; RU: Rutgers.
func TestActionThresholds(t *testing.T) {
	c := shipped(t)
	const ok, mem = risk.Confirmed, risk.FromMemory
	for _, r := range []struct {
		threat, value string
		standing      risk.Standing
	}{
		{"crucifer-flea-beetle", "50", ok},            // MD, cole crops newly emerged
		{"imported-cabbageworm", "0.5", ok},           // MD, cabbage, larval units
		{"cabbage-looper", "0.5", ok},                 //
		{"diamondback-moth", "0.5", ok},               //
		{"imported-cabbageworm", "1", ok},             // MD, caterpillars on 25 plants
		{"imported-cabbageworm", "5", ok},             // DE, % plants
		{"diamondback-moth", "5", ok},                 //
		{"imported-cabbageworm", "50", ok},            // five thresholds compared, 1981
		{"cabbage-looper", "50", ok},                  //
		{"cabbage-aphid", "2", ok},                    // MD
		{"cabbage-aphid", "about 100", ok},            // MD
		{"cabbage-aphid", "15", ok},                   // MD
		{"onion-thrips", "20", ok},                    // MD, fresh cabbage
		{"colorado-potato-beetle", "25 and 10 %", ok}, // DE
		{"colorado-potato-beetle", "4 / 1.5", ok},     // DE
		{"potato-leafhopper", "0.5-1 / 1", ok},        // DE
		{"melon-aphid", "20", ok},                     // DE
		{"two-spotted-spider-mite", "20-30", ok},      // DE
		{"striped-cucumber-beetle", "4-5", ok},        // UT
		{"striped-cucumber-beetle", "20", ok},         // MD
		{"squash-bug", "1", ok},                       // UT
		{"asparagus-beetle", "2 / 5", ok},             // DE
		{"asparagus-beetle", "50 / 10", ok},           // DE
		{"asparagus-beetle", "10", ok},                // UT
		{"onion-thrips", "5-6", ok},                   // DE, snap bean
		{"potato-leafhopper", "5", ok},                // DE, snap bean
		{"bean-leaf-beetle", "20", ok},                // DE
		{"black-cutworm", "3 / 10", ok},               // DE
		{"corn-flea-beetle", "5", ok},                 // DE
		{"corn-earworm", "0: 6-7; 1: 5; 2-20: 4; over 20: 3 (a day less above 85 F, 29 C)", ok}, // RU
		{"corn-earworm", "2-5", ok},               // UT
		{"corn-earworm", "12", ok},                // RU
		{"european-corn-borer", "12", ok},         //
		{"fall-armyworm", "12", ok},               //
		{"pea-aphid", "5-10 / 50", ok},            // DE
		{"onion-thrips", "7", ok},                 // UT
		{"onion-botrytis-leaf-blight", "1.0", ok}, // Plant Dis 1988 72:632
		{"carrot-cercospora", "50", ok},           // Abraham et al. 1995
		{"carrot-alternaria", "25", ok},           // Rutgers
		{"tomato-early-blight", "first detection", mem},
		{"septoria-leaf-spot", "first detection", mem},
		{"late-blight", "10 / 5-10", ok},                 // MacNab
		{"late-blight", "within 150 miles (240 km)", ok}, // MacNab
		{"tomato-hornworm", "any in a garden", mem},
		{"green-peach-aphid", "50", mem},
		{"western-flower-thrips", "5 (called high)", ok}, // RU
		{"potato-flea-beetle", "2 / 4 / 8", ok},          // DE
		{"potato-flea-beetle", "4", ok},                  // Kentucky 2017
		{"crucifer-flea-beetle", "10-20", ok},            // Kuhar
		{"corn-flea-beetle", "50", ok},                   // Kentucky 2017
		{"squash-vine-borer", "first moth or first egg at a stem base", mem},
		{"lettuce-aphid", "10", mem},
		{"spinach-leafminer", "50 on seedlings / 5 near harvest", mem},
		{"cabbage-maggot", "flight begins", mem},
		{"cucurbit-powdery-mildew", "1 spot on 50 old leaves", mem},
	} {
		th, found := c.ByID(r.threat)
		require.True(t, found, r.threat)
		var got []risk.Standing
		for _, a := range th.Threshold {
			if a.Value == r.value {
				got = append(got, a.Source.Standing)
			}
		}
		assert.Equal(t, []risk.Standing{r.standing}, got, "%s %s", r.threat, r.value)
	}
}
