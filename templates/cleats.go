package templates

// Cleats under a crack, in mm. Source: common practice, no source.
const (
	cleatNoneBelow = 20 // a shorter crack needs none
	cleatOneUpTo   = 50 // a short one has one in its middle
	cleatFromEnd   = 12 // from each end of a longer crack to its first and last cleat
	cleatUsualGap  = 45 // no two cleats lie further apart
)

// CleatCount returns how many cleats a stretch of crack between two braces
// takes, by its length in mm: none below 20, one up to 50, else so many that no
// gap is above 45 mm. Just above 50 and from 70 to 83 mm the gaps come out
// below 30 mm; a tech may leave one out there, for a lighter top.
func CleatCount(length int) int {
	switch {
	case length < cleatNoneBelow:
		return 0
	case length <= cleatOneUpTo:
		return 1
	}
	span := length - 2*cleatFromEnd
	return (span+cleatUsualGap-1)/cleatUsualGap + 1
}

// CleatPlaces returns where the middles of the cleats lie, in whole mm from one
// end of the crack: the first and the last 12 mm from the ends, the rest evenly
// between. A single cleat lies in the middle. The tech moves one that would
// touch a brace: 3 mm stay free.
func CleatPlaces(length int) []int {
	n := CleatCount(length)
	switch n {
	case 0:
		return nil
	case 1:
		return []int{length / 2}
	}
	places := make([]int, n)
	span, gaps := length-2*cleatFromEnd, n-1
	for i := range places {
		places[i] = cleatFromEnd + (2*span*i+gaps)/(2*gaps)
	}
	return places
}
