// Package wetness estimates in which hours leaves are wet. It is pure and keeps
// no state.
//
// # What holds in every method
//
// An hour with more rain than the rule's trace (0 mm unless set) is wet; a trace
// reported as 0 mm is not rain. An hour of irrigation over the leaves is wet.
// What is not known stays unknown: an hour that the method calls dry while its
// rain is missing is unknown, and so is an hour without humidity and without
// rain. Missing is never dry.
//
// # Under a cover
//
// Tunnel: rain does not wet and its absence from the data does not matter. The
// humidity outside stands for that inside; no published correction was found,
// and a shut tunnel is often damper by night, so the estimate is a lower bound.
// Row cover (fleece): rain passes and wets. Drying is slower and dew forms on
// the fleece; no published hours for either were found, so nothing is added and
// the estimate is a lower bound. Insect net: as in the open. Wind over a tunnel
// or a row cover says nothing of the air under it, so the tree, which needs
// wind, gives way to the humidity threshold there. All common practice.
//
// # What is left out
//
// The energy balance (Sentelhas et al. 2006) is not here: its equations could
// not be read in the paper, and remembered ones will not do.
package wetness
