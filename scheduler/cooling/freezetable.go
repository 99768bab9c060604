package cooling

// freezeRow is one row of a freezing point table: the same mixture by volume
// and by mass, and the temperature at which ice begins to form in it.
type freezeRow struct {
	vol, mass float64 // percent of pure glycol
	c         float64 // degrees Celsius
}

// tableSource says where the freezing points come from.
const tableSource = "ASHRAE Handbook Fundamentals (2001), aqueous glycol solutions, as tabulated in CoolProp's SecCool data (Skovrup 2013), MIT license"

// ethyleneFreeze and propyleneFreeze hold the freezing points of pure glycol
// in pure water. Source: tableSource, files "ASHRAE, Ethylene Glycol" and
// "ASHRAE, Propylene Glycol", columns TFreeze and Vol2Mass. Inhibitors and
// hard water shift a real coolant by a degree or so.
var (
	ethyleneFreeze = []freezeRow{
		{0, 0, 0}, {4.4, 5, -1.4}, {8.9, 10, -3.2}, {13.6, 15, -5.4}, {18.1, 20, -7.8},
		{19.2, 21, -8.4}, {20.1, 22, -8.9}, {21, 23, -9.5}, {22, 24, -10.2}, {22.9, 25, -10.7},
		{23.9, 26, -11.4}, {24.8, 27, -12}, {25.8, 28, -12.7}, {26.7, 29, -13.3}, {27.7, 30, -14.1},
		{28.7, 31, -14.8}, {29.6, 32, -15.4}, {30.6, 33, -16.2}, {31.6, 34, -17}, {32.6, 35, -17.9},
		{33.5, 36, -18.6}, {34.5, 37, -19.4}, {35.5, 38, -20.3}, {36.5, 39, -21.3}, {37.5, 40, -22.3},
		{38.5, 41, -23.2}, {39.5, 42, -24.3}, {40.5, 43, -25.3}, {41.5, 44, -26.4}, {42.5, 45, -27.5},
		{43.5, 46, -28.8}, {44.5, 47, -29.8}, {45.5, 48, -31.1}, {46.6, 49, -32.6}, {47.6, 50, -33.8},
		{48.6, 51, -35.1}, {49.6, 52, -36.4}, {50.6, 53, -37.9}, {51.6, 54, -39.3}, {52.7, 55, -41.1},
		{53.7, 56, -42.6}, {54.7, 57, -44.2}, {55.7, 58, -45.6}, {56.8, 59, -47.1}, {57.8, 60, -48.3},
	}
	propyleneFreeze = []freezeRow{
		{0, 0, 0}, {4.8, 5, -1.6}, {9.6, 10, -3.3}, {14.5, 15, -5.1}, {19.4, 20, -7.1},
		{20.4, 21, -7.6}, {21.4, 22, -8}, {22.4, 23, -8.6}, {23.4, 24, -9.1}, {24.4, 25, -9.6},
		{25.3, 26, -10.2}, {26.4, 27, -10.8}, {27.4, 28, -11.4}, {28.4, 29, -12}, {29.4, 30, -12.7},
		{30.4, 31, -13.4}, {31.4, 32, -14.1}, {32.4, 33, -14.8}, {33.5, 34, -15.6}, {34.4, 35, -16.4},
		{35.5, 36, -17.3}, {36.5, 37, -18.2}, {37.5, 38, -19.1}, {38.5, 39, -20.1}, {39.6, 40, -21.1},
		{40.6, 41, -22.1}, {41.6, 42, -23.2}, {42.6, 43, -24.3}, {43.7, 44, -25.5}, {44.7, 45, -26.7},
		{45.7, 46, -27.9}, {46.8, 47, -29.3}, {47.8, 48, -30.6}, {48.9, 49, -32.1}, {49.9, 50, -33.5},
		{50.9, 51, -35}, {51.9, 52, -36.6}, {53, 53, -38.2}, {54, 54, -39.8}, {55, 55, -41.6},
		{56, 56, -43.3}, {57, 57, -45.2}, {58, 58, -47.1}, {59, 59, -49}, {60, 60, -51.1},
	}
)
