package shell

import (
	"regexp"
	"strings"
)

// sourceMarks are the marks of the tables on how a source was had: [read],
// [memory], [read, quoted in …].
var (
	sourceMarks = regexp.MustCompile(`\s*\[([^\]]*\b(?:read|memory)\b[^\]]*)\]`)
	bareMemory  = regexp.MustCompile(`(from )?\bmemory\b`)
)

// SourceSaid is a source in words: 'CXS 210-1999, from memory' where the tables
// have it as 'CXS 210-1999 [memory]'.
func SourceSaid(source string) string {
	s := sourceMarks.ReplaceAllStringFunc(source, func(mark string) string {
		how := strings.Trim(strings.TrimSpace(mark), "[]")
		if how == "read" {
			how = "read at the source"
		}
		return ", " + how
	})
	return strings.TrimPrefix(bareMemory.ReplaceAllString(s, "from memory"), ", ")
}
