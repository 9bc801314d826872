// Package mesh holds geometry and connectivity: a tensor grid of cells across
// and down, its faces, and named boxes of cells. It knows nothing of heat or
// current.
//
// Cells are numbered row by row from the top: cell c = k·NX + i lies in column
// i (across: x or r) and row k (down: z). A grid stands for the whole site: in a
// section the third dimension is a length out of the page, in an axisymmetric
// grid a number of equal cells, in a plan the thickness of a level slab, so volumes
// and areas are totals.
package mesh
