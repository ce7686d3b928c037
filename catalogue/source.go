package catalogue

import (
	"regexp"
	"strings"
)

// sourceMarks are the marks of the tables on how a source was had: [read], [seen],
// [memory], [read, quoted in …].
var (
	sourceMarks = regexp.MustCompile(`\s*\[([^\]]*\b(?:read|seen|memory)\b[^\]]*)\]`)
	bareMemory  = regexp.MustCompile(`(from )?\bmemory\b`)
)

// SourceSaid is a source in words: 'CXS 210-1999, from memory' where the tables
// have it as 'CXS 210-1999 [memory]'.
func SourceSaid(source string) string {
	s := sourceMarks.ReplaceAllStringFunc(source, func(mark string) string {
		how := strings.Trim(strings.TrimSpace(mark), "[]")
		switch how {
		case "read":
			how = "read at the source"
		case "seen":
			how = "seen at the source"
		}
		return ", " + how
	})
	s = strings.ReplaceAll(s, ";, ", "; ") // a mark that stands alone after a semicolon
	return strings.TrimPrefix(bareMemory.ReplaceAllString(s, "from memory"), ", ")
}
