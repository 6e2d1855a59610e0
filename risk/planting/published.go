package planting

import "plotwarden/risk"

// row is one figure for several crops.
type row struct {
	crops []string
	Figure
}

var (
	georgia = risk.Source{Text: "McLaurin 2000, University of Georgia, \"Soil Temperatures: Don't Rush Mother Nature\"; the same table in Texas A&M AgriLife, Smith County 2014", Standing: risk.Confirmed}
	texas   = risk.Source{Text: "Texas A&M Extension, EarthKind landscape notes, \"Check Soil Temperature\": the realistic temperature between minimum and optimum", Standing: risk.Confirmed}
	kansas  = risk.Source{Text: "Upham, Kansas State University", Standing: risk.Confirmed}
	texasIn = risk.Source{Text: "the same text as reprinted in a Georgia newspaper, 15 March 2022", Standing: risk.SecondHand}
	texasAt = risk.Source{Text: "Texas A&M Extension, EarthKind landscape notes, \"Check Soil Temperature\": the least at which seed comes up, not the best", Standing: risk.Confirmed}
	germin  = risk.Source{Text: "Harrington's table of minimum soil temperatures for germination, as reprinted: the least at which seed comes up, not the best", Standing: risk.SecondHand}
	column  = risk.Source{Text: "a trade column's minimum soil for transplants and sowing", Standing: risk.Confirmed}
	newEng  = risk.Source{Text: "extension of New Hampshire, Massachusetts and Maine: no cucurbit transplants into colder soil", Standing: risk.Confirmed}
	midwest = risk.Source{Text: "Midwest vegetable production guide: wait for this daily mean", Standing: risk.Confirmed}
	nights  = risk.Source{Text: "lowest nights that the crop takes without harm", Standing: risk.FromMemory}
	trade   = risk.Source{Text: "warm-season crops go out when days reach about 80 F and nights about 60 F", Standing: risk.CommonPractice}
)

const (
	mornings = "on three mornings running, at 1 to 2 in. for seed and 4 to 6 in. for transplants"
	upham    = "at 2.5 in., at 10 to 11 in the morning, on four to five days running"
)

var cucurbits = []string{"cucumber", "melon", "pumpkin", "summer squash", "watermelon", "winter squash", "zucchini"}
var squashes = []string{"summer squash", "winter squash", "zucchini"}

func soil(f float64, use Use, days int, how string, s risk.Source, crops ...string) row {
	return row{crops, Figure{Use: use, Measure: Soil, F: f, Days: days, How: how, Source: s}}
}

func air(m Measure, f float64, s risk.Source, crops ...string) row {
	return row{crops, Figure{Use: PlantOut, Measure: m, F: f, Days: 3, Source: s}}
}

// published is every figure. Cantaloupe stands under melon, and southern pea has
// no crop here. A source's "bean" is taken for snap bean and its "squash" for
// the summer and winter kinds.
var published = []row{
	soil(60, Either, 3, mornings, georgia, "tomato", "cucumber", "snap bean"),
	soil(65, Either, 3, mornings, georgia, "sweet corn", "lima bean", "mustard greens"),
	soil(70, Either, 3, mornings, georgia, append([]string{"pepper", "watermelon"}, squashes...)...),
	soil(75, Either, 3, mornings, georgia, "okra", "melon", "sweet potato"),

	soil(55, Either, 4, upham, kansas, "tomato", "sweet corn", "snap bean"),
	soil(60, Either, 4, upham, kansas, "pepper", "cucumber", "melon", "sweet potato"),
	soil(40, Either, 4, upham, kansas, "pea"),
	soil(45, Either, 4, upham+"; preferred", kansas, "lettuce", "spinach"),

	soil(64, Sow, 1, "", texas, "cucumber"),
	soil(68, Sow, 1, "", texas, "melon"),
	soil(70, Sow, 1, "", texas, squashes...),
	soil(72, Sow, 1, "", texas, "watermelon", "snap bean"),
	soil(73, Sow, 1, "", texas, "okra"),
	soil(75, Sow, 1, "", texas, "pumpkin"),
	soil(55, Sow, 1, "", texas, "tomato", "sweet corn"),
	soil(45, Sow, 1, "", texas, "beet"),
	soil(50, Sow, 1, "", texas, "turnip"),
	soil(45, Sow, 1, "", texasIn, "carrot", "parsley", "lettuce", "spinach"),
	soil(40, Sow, 1, "", texasAt, "beet", "cabbage", "chard", "radish", "turnip"),
	soil(35, Sow, 1, "", texasAt, "carrot", "parsley", "lettuce", "spinach"),

	soil(60, Sow, 1, "", germin, append([]string{"snap bean", "pepper"}, cucurbits...)...),
	soil(40, Sow, 1, "", germin, "beet", "broccoli", "cabbage", "cauliflower", "carrot", "pea"),
	soil(32, Sow, 1, "", germin, "lettuce", "onion", "spinach"),
	soil(50, Sow, 1, "", germin, "sweet corn", "tomato"),

	soil(60, Either, 1, "", column, "tomato", "cucumber", "snap bean"),
	soil(70, Either, 1, "", column, append([]string{"pepper"}, squashes...)...),
	soil(75, Either, 1, "", column, "melon"),
	soil(35, Either, 1, "", column, "lettuce", "spinach"),
	soil(40, Either, 1, "", column, "pea"),
	soil(45, Either, 1, "", column, "radish"),
	soil(50, Either, 1, "", column, "onion", "beet"),

	soil(60, PlantOut, 1, "", newEng, cucurbits...),

	air(Night, 50, nights, "tomato"),
	air(Night, 55, nights, append([]string{"pepper"}, cucurbits...)...),
	air(DayMean, 65, midwest, "pepper", "eggplant"),
}

// warmSeason holds for every warm-season crop that is planted out.
var warmSeason = []Figure{
	{Use: PlantOut, Measure: Night, F: 60, Days: 3, Source: trade},
	{Use: PlantOut, Measure: DayHigh, F: 80, Days: 3, Source: trade},
}
