package inbox

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"example.org/roundsman/models"
)

// Every item of the catalogue is recognized by all the words that it has for
// that, and by what lists and questions call it.
func TestItemsAreRecognized(t *testing.T) {
	for _, it := range models.Items() {
		for _, words := range append([]string{it.Name.EN, it.Name.ES}, it.Replies...) {
			found := findItems(lex(fold("done: "+words), false))
			assert.Len(t, found, 1, words)
			for _, id := range found {
				assert.Equal(t, it.ID, id, words)
			}
		}
		for _, words := range it.Replies {
			assert.Equal(t, fold(words), words, "%s: not as words are compared", it.ID)
		}
	}
}
