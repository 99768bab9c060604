package models

import (
	"slices"
	"strings"
)

// Topic is a kind of work or place that carries cautions of its own.
type Topic string

// Topics of cautions.
const (
	TopicCooling   Topic = "cooling"   // the coolant circuit is opened or touched
	TopicFan       Topic = "fan"       // hands near a fan, a belt or another part that can start to turn
	TopicExhaust   Topic = "exhaust"   // the engine has to run for the work
	TopicRaised    Topic = "raised"    // somebody reaches under a raised machine, bed or hood
	TopicRolling   Topic = "rolling"   // the machine stands on wheels or tracks
	TopicPTO       Topic = "pto"       // a power take-off or an attachment can be driven
	TopicGenerator Topic = "generator" // it makes electricity, or starts by itself
	TopicFuel      Topic = "fuel"      // fuel is let out
	TopicOil       Topic = "oil"       // hot or used oil is let out
	TopicBattery   Topic = "battery"   // the battery is handled
	TopicHydraulic Topic = "hydraulic" // oil under pressure is let out or a line opened
	TopicBrakes    Topic = "brakes"    // brake fluid is let out
	TopicAny       Topic = "any"       // every kind of work
)

// Phrase is one text in the languages that the program speaks.
type Phrase struct {
	EN string `json:"en"`
	ES string `json:"es"`
}

// In gives the text in a language (a BCP 47 tag such as "es" or "es-MX");
// a language that is not spoken here gets English.
func (p Phrase) In(language string) string {
	if Spanish(language) && p.ES != "" {
		return p.ES
	}
	return p.EN
}

// Spanish says whether a BCP 47 language tag is Spanish: "es", "es-MX",
// "es-419" in any case.
func Spanish(lang string) bool {
	primary, _, _ := strings.Cut(strings.ReplaceAll(lang, "_", "-"), "-")
	return strings.EqualFold(primary, "es")
}

// Caution is one warning that belongs beside work on a machine. It is data:
// sheets, checks and messages show it as it stands.
type Caution struct {
	ID    string `json:"id"`
	Topic Topic  `json:"topic"`
	Short Phrase `json:"short"` // at most 90 characters of the GSM 7-bit alphabet, fit for a text message
	Long  Phrase `json:"long"`  // a sentence or three, for sheets and checks
}

// Cautions lists every caution, those that hurt people worst first in each
// topic, the topics in the order of their list. The texts are common practice of
// the trade; the maker's manual comes before any of them.
func Cautions() []Caution { return slices.Clone(cautions) }

// messageCautions are those on the cooling system for which a message has room:
// the one that burns, the one that poisons, and who comes first.
var messageCautions = []string{"hot_coolant", "glycol_poison", "manual_first"}

// MessageCautions gives the cautions that a message on work on the cooling
// system carries; a sheet has them all.
func MessageCautions() []Caution {
	return slices.DeleteFunc(Cautions(), func(c Caution) bool { return !slices.Contains(messageCautions, c.ID) })
}

// CautionsOn gives the cautions of some topics, in the order of Cautions and
// each once. TopicAny is only among them when asked for.
func CautionsOn(topics ...Topic) []Caution {
	var out []Caution
	for _, c := range cautions {
		if slices.Contains(topics, c.Topic) {
			out = append(out, c)
		}
	}
	return out
}

// CautionsFor gives the cautions that belong beside work on an item of a
// machine, in the order of Cautions. There is always at least the word on the
// maker's manual. An item that the program does not know is treated as work
// that may reach under the machine with the engine running.
func CautionsFor(item string, m Machine) []Caution {
	return CautionsForAll([]string{item}, m)
}

// CautionsForAll gives the cautions of several items done together on a
// machine, each once, in the order of Cautions.
func CautionsForAll(items []string, m Machine) []Caution {
	topics := append(machineTopics(m), TopicAny)
	for _, item := range items {
		topics = append(topics, ItemOf(item).Topics...)
	}
	return CautionsOn(topics...)
}

// machineTopics reads from the shop's own word for a kind of machine what it
// brings by itself. A kind that says nothing counts as one that can roll.
func machineTopics(m Machine) []Topic {
	kind := strings.ToLower(m.Kind + " " + KindID(m.Kind))
	has := func(words ...string) bool {
		return slices.ContainsFunc(words, func(w string) bool { return strings.Contains(kind, w) })
	}
	var out []Topic
	if has("generator", "genset", "gen set", "light tower") {
		out = append(out, TopicGenerator)
	}
	if has("tractor", "mower", "skid", "loader") {
		out = append(out, TopicPTO)
	}
	if !has("generator", "genset", "pump") || has("trailer", "mounted", "tow") {
		out = append(out, TopicRolling)
	}
	return out
}
