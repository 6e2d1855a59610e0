package garden

// The families, written once so that a misspelling cannot split one.
const (
	alliums  = "Amaryllidaceae"
	beets    = "Amaranthaceae"
	brassica = "Brassicaceae"
	carrots  = "Apiaceae"
	cucurbit = "Cucurbitaceae"
	daisies  = "Asteraceae"
	grasses  = "Poaceae"
	legumes  = "Fabaceae"
	mints    = "Lamiaceae"
	nights   = "Solanaceae"
	roses    = "Rosaceae"
)

// crops is sorted by id; a test holds it to that. Latin names and families are
// common knowledge of botany; EPPO codes are from memory.
var crops = []Crop{
	{ID: "apple", Name: "apple", Latin: "Malus domestica", Family: roses, EPPO: "MABSD", Perennial: true},
	{ID: "arugula", Name: "arugula", Latin: "Eruca vesicaria", Family: brassica},
	{ID: "asparagus", Name: "asparagus", Latin: "Asparagus officinalis", Family: "Asparagaceae", EPPO: "ASPOF", Perennial: true},
	{ID: "basil", Name: "basil", Latin: "Ocimum basilicum", Family: mints, EPPO: "OCIBA", Warm: true},
	{ID: "beet", Name: "beet", Latin: "Beta vulgaris", Family: beets, EPPO: "BEAVX"},
	{ID: "blueberry", Name: "blueberry", Latin: "Vaccinium corymbosum", Family: "Ericaceae", EPPO: "VACCO", Perennial: true},
	{ID: "bok choy", Name: "bok choy", Latin: "Brassica rapa subsp. chinensis", Family: brassica},
	{ID: "broccoli", Name: "broccoli", Latin: "Brassica oleracea var. italica", Family: brassica},
	{ID: "brussels sprouts", Name: "Brussels sprouts", Latin: "Brassica oleracea var. gemmifera", Family: brassica},
	{ID: "cabbage", Name: "cabbage", Latin: "Brassica oleracea var. capitata", Family: brassica},
	{ID: "carrot", Name: "carrot", Latin: "Daucus carota subsp. sativus", Family: carrots, EPPO: "DAUCS"},
	{ID: "cauliflower", Name: "cauliflower", Latin: "Brassica oleracea var. botrytis", Family: brassica},
	{ID: "celery", Name: "celery", Latin: "Apium graveolens", Family: carrots, EPPO: "APUGV"},
	{ID: "chard", Name: "chard", Latin: "Beta vulgaris subsp. vulgaris", Family: beets},
	{ID: "chinese cabbage", Name: "Chinese cabbage", Latin: "Brassica rapa subsp. pekinensis", Family: brassica},
	{ID: "cilantro", Name: "cilantro", Latin: "Coriandrum sativum", Family: carrots, EPPO: "CORSA"},
	{ID: "collards", Name: "collards", Latin: "Brassica oleracea var. viridis", Family: brassica},
	{ID: "cucumber", Name: "cucumber", Latin: "Cucumis sativus", Family: cucurbit, EPPO: "CUMSA", Warm: true},
	{ID: "dill", Name: "dill", Latin: "Anethum graveolens", Family: carrots, EPPO: "AFEGR"},
	{ID: "dry bean", Name: "dry bean", Latin: "Phaseolus vulgaris", Family: legumes, EPPO: "PHSVX", Warm: true},
	{ID: "eggplant", Name: "eggplant", Latin: "Solanum melongena", Family: nights, EPPO: "SOLME", Warm: true},
	{ID: "fava bean", Name: "fava bean", Latin: "Vicia faba", Family: legumes, EPPO: "VICFX"},
	{ID: "garlic", Name: "garlic", Latin: "Allium sativum", Family: alliums, EPPO: "ALLSA"},
	{ID: "grape", Name: "grape", Latin: "Vitis vinifera and hybrids", Family: "Vitaceae", EPPO: "VITVI", Perennial: true},
	{ID: "kale", Name: "kale", Latin: "Brassica oleracea var. sabellica", Family: brassica},
	{ID: "kohlrabi", Name: "kohlrabi", Latin: "Brassica oleracea var. gongylodes", Family: brassica},
	{ID: "leek", Name: "leek", Latin: "Allium porrum", Family: alliums, EPPO: "ALLPO"},
	{ID: "lettuce", Name: "lettuce", Latin: "Lactuca sativa", Family: daisies, EPPO: "LACSA"},
	{ID: "lima bean", Name: "lima bean", Latin: "Phaseolus lunatus", Family: legumes, EPPO: "PHSLU", Warm: true},
	{ID: "melon", Name: "melon", Latin: "Cucumis melo", Family: cucurbit, EPPO: "CUMME", Warm: true},
	{ID: "mustard greens", Name: "mustard greens", Latin: "Brassica juncea", Family: brassica, EPPO: "BRSJU"},
	{ID: "okra", Name: "okra", Latin: "Abelmoschus esculentus", Family: "Malvaceae", EPPO: "ABMES", Warm: true},
	{ID: "onion", Name: "onion", Latin: "Allium cepa", Family: alliums, EPPO: "ALLCE"},
	{ID: "parsley", Name: "parsley", Latin: "Petroselinum crispum", Family: carrots, EPPO: "PARCR"},
	{ID: "parsnip", Name: "parsnip", Latin: "Pastinaca sativa", Family: carrots, EPPO: "PAVSA"},
	{ID: "pea", Name: "pea", Latin: "Pisum sativum", Family: legumes, EPPO: "PIBSX"},
	{ID: "peach", Name: "peach", Latin: "Prunus persica", Family: roses, EPPO: "PRNPS", Perennial: true},
	{ID: "pear", Name: "pear", Latin: "Pyrus communis", Family: roses, EPPO: "PYUCO", Perennial: true},
	{ID: "pepper", Name: "pepper", Latin: "Capsicum annuum", Family: nights, EPPO: "CPSAN", Warm: true},
	{ID: "plum", Name: "plum", Latin: "Prunus domestica", Family: roses, EPPO: "PRNDO", Perennial: true},
	{ID: "potato", Name: "potato", Latin: "Solanum tuberosum", Family: nights, EPPO: "SOLTU"},
	{ID: "pumpkin", Name: "pumpkin", Latin: "Cucurbita pepo", Family: cucurbit, EPPO: "CUUPE", Warm: true},
	{ID: "radish", Name: "radish", Latin: "Raphanus sativus", Family: brassica, EPPO: "RAPSR"},
	{ID: "raspberry", Name: "raspberry", Latin: "Rubus idaeus", Family: roses, EPPO: "RUBID", Perennial: true},
	{ID: "rutabaga", Name: "rutabaga", Latin: "Brassica napus subsp. rapifera", Family: brassica},
	{ID: "shallot", Name: "shallot", Latin: "Allium cepa (Aggregatum group)", Family: alliums},
	{ID: "snap bean", Name: "snap bean", Latin: "Phaseolus vulgaris", Family: legumes, EPPO: "PHSVX", Warm: true},
	{ID: "spinach", Name: "spinach", Latin: "Spinacia oleracea", Family: beets, EPPO: "SPQOL"},
	{ID: "strawberry", Name: "strawberry", Latin: "Fragaria x ananassa", Family: roses, EPPO: "FRAAN", Perennial: true},
	{ID: "summer squash", Name: "summer squash", Latin: "Cucurbita pepo", Family: cucurbit, EPPO: "CUUPE", Warm: true},
	{ID: "sweet corn", Name: "sweet corn", Latin: "Zea mays", Family: grasses, EPPO: "ZEAMX", Warm: true},
	{ID: "sweet potato", Name: "sweet potato", Latin: "Ipomoea batatas", Family: "Convolvulaceae", EPPO: "IPOBA", Warm: true},
	{ID: "tomatillo", Name: "tomatillo", Latin: "Physalis ixocarpa", Family: nights, Warm: true},
	{ID: "tomato", Name: "tomato", Latin: "Solanum lycopersicum", Family: nights, EPPO: "LYPES", Warm: true},
	{ID: "turnip", Name: "turnip", Latin: "Brassica rapa subsp. rapa", Family: brassica},
	{ID: "watermelon", Name: "watermelon", Latin: "Citrullus lanatus", Family: cucurbit, EPPO: "CITLA", Warm: true},
	{ID: "winter squash", Name: "winter squash", Latin: "Cucurbita maxima, C. moschata or C. pepo", Family: cucurbit, Warm: true},
	{ID: "zucchini", Name: "zucchini", Latin: "Cucurbita pepo", Family: cucurbit, EPPO: "CUUPE", Warm: true},
}
