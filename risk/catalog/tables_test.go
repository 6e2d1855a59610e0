package catalog

// The published tables, copied row by row to check the data files against.
// Written apart from the data files.

// severityRow is a cell of a table of severity: the value that holds from a
// number of hours to another (24 and 48 stand for no upper end).
type severityRow struct {
	cultivar         string
	low, high        float64 // C
	hoursLo, hoursHi int
	value            float64
}

// Tomato severity values: Madden, Pennypacker & MacNab 1978 as used by Pitblado 1992; from memory.
var tomatoRows = []severityRow{
	{"", 13, 17, 0, 6, 0},
	{"", 13, 17, 7, 15, 1},
	{"", 13, 17, 16, 20, 2},
	{"", 13, 17, 21, 24, 3},
	{"", 18, 20, 0, 3, 0},
	{"", 18, 20, 4, 8, 1},
	{"", 18, 20, 9, 15, 2},
	{"", 18, 20, 16, 22, 3},
	{"", 18, 20, 23, 24, 4},
	{"", 21, 25, 0, 2, 0},
	{"", 21, 25, 3, 5, 1},
	{"", 21, 25, 6, 12, 2},
	{"", 21, 25, 13, 20, 3},
	{"", 21, 25, 21, 24, 4},
	{"", 26, 29, 0, 3, 0},
	{"", 26, 29, 4, 8, 1},
	{"", 26, 29, 9, 15, 2},
	{"", 26, 29, 16, 22, 3},
	{"", 26, 29, 23, 24, 4},
}

// Late blight: Wallin 1962 through Krause, Massie & Hyre 1975; hours of 90 % humidity;
// hours and F bands confirmed second-hand, C bands from memory.
var wallinRows = []severityRow{
	{"", 7.2, 11.6, 0, 15, 0},
	{"", 7.2, 11.6, 16, 18, 1},
	{"", 7.2, 11.6, 19, 21, 2},
	{"", 7.2, 11.6, 22, 24, 3},
	{"", 7.2, 11.6, 25, 48, 4},
	{"", 11.7, 15.0, 0, 12, 0},
	{"", 11.7, 15.0, 13, 15, 1},
	{"", 11.7, 15.0, 16, 18, 2},
	{"", 11.7, 15.0, 19, 21, 3},
	{"", 11.7, 15.0, 22, 48, 4},
	{"", 15.1, 26.6, 0, 9, 0},
	{"", 15.1, 26.6, 10, 12, 1},
	{"", 15.1, 26.6, 13, 15, 2},
	{"", 15.1, 26.6, 16, 18, 3},
	{"", 15.1, 26.6, 19, 48, 4},
}

// Blight units: Fry, Apple & Bruhn 1983, read in a research script that re-creates
// Grunwald et al. 2002; three cells from memory. Other hours score 0.
var fryRows = []severityRow{
	{"susceptible", 23, 27, 7, 9, 1},
	{"susceptible", 23, 27, 10, 12, 2},
	{"susceptible", 23, 27, 13, 15, 3},
	{"susceptible", 23, 27, 16, 18, 4},
	{"susceptible", 23, 27, 19, 24, 5},
	{"susceptible", 13, 22, 7, 9, 5},
	{"susceptible", 13, 22, 10, 12, 6},
	{"susceptible", 13, 22, 13, 24, 7},
	{"susceptible", 8, 12, 7, 7, 1},
	{"susceptible", 8, 12, 8, 9, 2},
	{"susceptible", 8, 12, 10, 10, 3},
	{"susceptible", 8, 12, 11, 12, 4},
	{"susceptible", 8, 12, 13, 15, 5},
	{"susceptible", 8, 12, 16, 24, 6},
	{"susceptible", 3, 7, 10, 12, 1},
	{"susceptible", 3, 7, 13, 15, 2},
	{"susceptible", 3, 7, 16, 18, 3},
	{"susceptible", 3, 7, 19, 24, 4},
	{"moderately susceptible", 23, 27, 10, 18, 1},
	{"moderately susceptible", 23, 27, 19, 24, 2},
	{"moderately susceptible", 13, 22, 7, 7, 1},
	{"moderately susceptible", 13, 22, 8, 8, 2},
	{"moderately susceptible", 13, 22, 9, 9, 3},
	{"moderately susceptible", 13, 22, 10, 10, 4},
	{"moderately susceptible", 13, 22, 11, 12, 5},
	{"moderately susceptible", 13, 22, 13, 24, 6},
	{"moderately susceptible", 8, 12, 7, 9, 1},
	{"moderately susceptible", 8, 12, 10, 12, 2},
	{"moderately susceptible", 8, 12, 13, 15, 3},
	{"moderately susceptible", 8, 12, 16, 18, 4},
	{"moderately susceptible", 8, 12, 19, 24, 5},
	{"moderately susceptible", 3, 7, 13, 24, 1},
	{"moderately resistant", 23, 27, 16, 24, 1},
	{"moderately resistant", 13, 22, 7, 7, 1},
	{"moderately resistant", 13, 22, 8, 8, 2},
	{"moderately resistant", 13, 22, 9, 9, 3},
	{"moderately resistant", 13, 22, 10, 12, 4},
	{"moderately resistant", 13, 22, 13, 24, 5},
	{"moderately resistant", 8, 12, 10, 12, 1},
	{"moderately resistant", 8, 12, 13, 15, 2},
	{"moderately resistant", 8, 12, 16, 24, 3},
	{"moderately resistant", 3, 7, 19, 24, 1},
}

// needRow is the wet hours that infection needs from one temperature to another.
type needRow struct{ low, high, hours float64 }

// Apple scab: table at cafcs.wvu.edu (MacHardy & Gadoury 1989, Stensvand et al. 1997), F; confirmed.
var scabRows = []needRow{
	{34, 34, 41},
	{36, 36, 35},
	{37, 37, 30},
	{39, 39, 28},
	{41, 41, 21},
	{43, 43, 18},
	{45, 45, 15},
	{46, 46, 13},
	{48, 48, 12},
	{50, 50, 11},
	{52, 52, 9},
	{54, 54, 8},
	{55, 55, 8},
	{57, 57, 7},
	{59, 59, 7},
	{61, 75, 6},
	{77, 77, 8},
	{79, 79, 11},
}

// Black rot of grape: Spotts 1977, table at ipm.msu.edu, F; confirmed.
var blackRotRows = []needRow{
	{50, 50, 24},
	{55, 55, 12},
	{60, 60, 9},
	{65, 65, 8},
	{70, 70, 7},
	{75, 75, 7},
	{80, 80, 6},
	{85, 85, 9},
	{90, 90, 12},
}

// Apple scab: Mills & Laplante 1951, F; light, moderate and heavy; from memory.
var millsRows = [3][]needRow{
	{
		{42, 42, 30},
		{43, 43, 25},
		{44, 44, 22},
		{45, 45, 20},
		{46, 46, 19},
		{47, 47, 17},
		{48, 48, 15},
		{49, 49, 14.5},
		{50, 50, 14},
		{51, 51, 13},
		{52, 52, 12},
		{53, 53, 12},
		{54, 54, 11.5},
		{55, 55, 11},
		{56, 56, 11},
		{57, 57, 10},
		{58, 58, 10},
		{59, 59, 10},
		{60, 60, 9.5},
		{61, 61, 9},
		{62, 62, 9},
		{63, 63, 9},
		{64, 75, 9},
		{76, 76, 9.5},
		{77, 77, 11},
		{78, 78, 13},
	},
	{
		{42, 42, 40},
		{43, 43, 34},
		{44, 44, 30},
		{45, 45, 27},
		{46, 46, 25},
		{47, 47, 23},
		{48, 48, 20},
		{49, 49, 20},
		{50, 50, 19},
		{51, 51, 18},
		{52, 52, 18},
		{53, 53, 17},
		{54, 54, 16},
		{55, 55, 16},
		{56, 56, 15},
		{57, 57, 14},
		{58, 58, 14},
		{59, 59, 13},
		{60, 60, 13},
		{61, 61, 13},
		{62, 62, 12},
		{63, 63, 12},
		{64, 75, 12},
		{76, 76, 12},
		{77, 77, 14},
		{78, 78, 17},
	},
	{
		{42, 42, 60},
		{43, 43, 51},
		{44, 44, 45},
		{45, 45, 41},
		{46, 46, 38},
		{47, 47, 35},
		{48, 48, 30},
		{49, 49, 30},
		{50, 50, 29},
		{51, 51, 27},
		{52, 52, 26},
		{53, 53, 25},
		{54, 54, 24},
		{55, 55, 24},
		{56, 56, 22},
		{57, 57, 22},
		{58, 58, 21},
		{59, 59, 21},
		{60, 60, 20},
		{61, 61, 20},
		{62, 62, 19},
		{63, 63, 18},
		{64, 75, 18},
		{76, 76, 19},
		{77, 77, 21},
		{78, 78, 26},
	},
}
