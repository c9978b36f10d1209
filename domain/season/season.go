// Package season looks back and ahead over whole winters: how sure a share of few
// cases is, and what is to come.
//
// Everything is a pure function on plain values. The sources stand beside each.
package season
