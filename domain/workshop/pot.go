package workshop

import (
	"fmt"
	"slices"
	"strings"

	"winterbench/templates"
)

// PotTask is free work with what its template uses up.
type PotTask struct {
	Tag       int
	Materials []templates.Material
}

// PotTags lists the tags whose free work can take hot hide glue, so that one pot
// serves them in one sitting; nil unless there are two or more. A material that leaves
// the choice, such as "hide or aliphatic glue", counts.
//
// Common practice, no source: hide glue is kept hot in a pot and thrown away when it
// has stood too long, so that its work is put together.
func PotTags(free []PotTask) []int {
	var tags []int
	for _, t := range free {
		hide := slices.ContainsFunc(t.Materials, func(m templates.Material) bool {
			name := strings.ToLower(m.Name)
			return strings.Contains(name, "glue") && slices.Contains(strings.FieldsFunc(name, func(r rune) bool { return r < 'a' || r > 'z' }), "hide")
		})
		if hide && !slices.Contains(tags, t.Tag) {
			tags = append(tags, t.Tag)
		}
	}
	if len(tags) < 2 {
		return nil
	}
	slices.Sort(tags)
	return tags
}

// PotText says what one pot can serve; "" for nothing.
func PotText(tags []int) string {
	if len(tags) < 2 {
		return ""
	}
	words := make([]string, len(tags))
	for i, n := range tags {
		words[i] = fmt.Sprint(n)
	}
	last := len(words) - 1
	return fmt.Sprintf("One pot of hide glue can serve tags %s and %s in one sitting. Mind the hot pot, and the glue’s own open time.", strings.Join(words[:last], ", "), words[last])
}
