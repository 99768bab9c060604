package policy

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"example.org/roundsman/models"
)

func TestRecipientsByRole(t *testing.T) {
	contact := func(id string, role models.Role) models.Contact {
		return models.Contact{ID: id, Owner: "o1", Role: role}
	}
	foreign := models.Contact{ID: "x", Owner: "o2", Role: models.RoleService}
	ids := func(cs []models.Contact) (out []string) {
		for _, c := range cs {
			out = append(out, c.ID)
		}
		return out
	}
	owner, manager := contact("o", models.RoleOwner), contact("m", models.RoleManager)
	operator := contact("p", models.RoleOperator)
	tests := []struct {
		name string
		have []models.Contact
		want []string
	}{
		{"service before all, in order of ids", []models.Contact{owner, contact("s2", models.RoleService), contact("s1", models.RoleService)}, []string{"s1", "s2"}},
		{"owner where there is no service", []models.Contact{manager, owner, operator}, []string{"o"}},
		{"manager where there is neither", []models.Contact{operator, manager}, []string{"m"}},
		{"never an operator", []models.Contact{operator}, nil},
		{"nobody of another owner", []models.Contact{foreign}, nil},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			assert.Equal(t, tt.want, ids(Recipients(models.Owner{ID: "o1"}, tt.have)))
		})
	}
}

func TestOnlyMoreUrgentStagesAreTold(t *testing.T) {
	const (
		coming, due, late    = models.StageComing, models.StageDue, models.StageLate
		unsure, clear, moved = models.StageUnsure, models.StageClear, models.StageMoved
	)
	stages := func(s ...models.Stage) []models.Stage { return s }
	tests := []struct {
		sent []models.Stage
		next models.Stage
		want bool
	}{
		{nil, coming, true}, {nil, due, true}, {nil, late, true},
		{nil, unsure, false}, {nil, clear, false}, {nil, moved, false}, {nil, "", false},
		{stages(coming), coming, false}, {stages(coming), due, true}, {stages(coming), late, true},
		{stages(due), coming, false}, {stages(coming, due), due, false}, {stages(coming, due), late, true},
		{stages(late), due, false}, {stages(late), late, false},
		{stages(coming), moved, true}, {stages(late), moved, true},
		{stages(coming, moved), moved, false}, {stages(coming, moved), due, false}, {stages(coming, moved), late, false},
		{stages(unsure), coming, true}, {stages(unsure), moved, false},
	}
	for _, tt := range tests {
		assert.Equal(t, tt.want, Escalates(tt.sent, tt.next), "%v then %q", tt.sent, tt.next)
	}
}
