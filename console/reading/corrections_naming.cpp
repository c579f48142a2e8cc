#include <cstdlib>
#include <set>
#include <string>

#include "console/reading/corrections.hpp"

namespace stonecall::reading::corrections {

void Corrections::name_struck() {
  for (At i = 0; i < draft_.size(); ++i) {
    if (!strikes(draft_.at(i))) continue;
    At word = i + 1;
    while (word <= i + 4 && !draft_.at(word).mark() && !draft_.at(word).is(Sense::bag) &&
           !draft_.at(word).is(Sense::sample) &&
           !draft_.at(word).any_of({"that last sample", "the last sample", "that sample"}))
      ++word;
    const bool bag = draft_.at(word).is(Sense::bag);
    if (word > i + 4 || draft_.at(word).mark() || value_at(word, word)) continue;
    for (Value& value : values_) {
      if (value.first <= word || value.type != Value::Type::number) continue;
      if (draft_.at(value.last + 1).is(Sense::unit)) continue;
      make_label(draft_, value, bag ? Of::bag : Of::sample);
      struck_ = true;
    }
  }
}

void Corrections::name_doubted() {
  // "it's seventy two for ten": a bag, and whose it is
  const bool of_bags =
      draft_.any(0, draft_.size() - 1, [](const Item& item) { return item.is(Sense::bag); });
  for (std::size_t v = 0; v + 1 < values_.size(); ++v) {
    Value& bag = values_[v];
    Value& sample = values_[v + 1];
    if (bag.type != Value::Type::number || sample.type != Value::Type::number || !of_bags ||
        !draft_.at(bag.last + 1).is("for") || sample.first != bag.last + 2 ||
        !known_sample(read_label(draft_, sample.first).digits))
      continue;
    make_label(draft_, bag, Of::bag);
    make_label(draft_, sample, Of::sample);
  }
  for (Value& value : values_) {
    if (value.type != Value::Type::number) continue;
    const Item& before = draft_.at(value.first - 1);
    const bool wrong = before.mark() && draft_.at(value.last + 1).any_of({"was wrong", "is wrong"});
    const bool called =
        before.any_of({"i called", "we called"}) && draft_.at(kind_behind(value.last + 1)).rock();
    const bool recorded = recorded_as_another(value);
    // "I said thirty four was slate"
    const bool said = before.any_of({"i said", "we said", "thought"}) &&
                      draft_.at(value.last + 1).is(Sense::is) &&
                      draft_.at(kind_behind(value.last + 2)).rock() && kinds_named() > 1;
    if (!(wrong || called || recorded || said) ||
        !known_sample(read_label(draft_, value.first).digits))
      continue;
    make_label(draft_, value, Of::sample);
    struck_ = struck_ || recorded;
  }
  // "change five please", "komatiite for five, not dolerite"
  std::set<std::size_t> kinds;
  bool guessed = false;
  for (const Item& item : draft_.items) {
    if (!item.rock()) continue;
    kinds.insert(item.index);
    guessed = guessed || item.mutes;
  }
  const bool put_right = draft_.any(0, draft_.size() - 1, [&](const Item& item) {
    return (item.is(Sense::correction) && item.low > 0) ||
           (item.is(Sense::not_) && kinds.size() > 1);
  });
  const bool doubts = put_right && !kinds.empty() && !guessed && !draft_.has_label(Of::sample) &&
                      !draft_.has_label(Of::bag);
  if (!doubts) return;
  Value* only = nullptr;
  for (Value& value : values_) {
    if (value.type != Value::Type::number) continue;
    if (only) return;
    only = &value;
  }
  if (!only || !known_sample(read_label(draft_, only->first).digits)) return;
  const Item& next = draft_.at(only->last + 1);
  const Item& before = draft_.at(only->first - 1);
  if (next.mark() || next.is(Sense::is) || next.is("please") || before.any_of({"for", "of", "in"}))
    make_label(draft_, *only, Of::sample);
}

std::size_t Corrections::kinds_named() const {
  std::set<std::size_t> kinds;
  for (const Item& item : draft_.items)
    if (item.rock()) kinds.insert(item.index);
  return kinds.size();
}

bool Corrections::recorded_as_another(const Value& number) const {
  if (!draft_.at(number.first - 1)
           .any_of({"make", "call", "log", "put", "mark", "label", "record", "relabel", "enter",
                    "relog", "list", "note", "write"}))
    return false;
  At kind = number.last + 1;
  while (draft_.at(kind).any_of({"down", "as", "down as", "a", "an", "in", "the", "up", "under"}))
    ++kind;
  // "make four granite and six slate": a count
  return draft_.at(kind).rock() && !draft_.at(kind + 1).number() &&
         !draft_.at(kind + 1).is(Sense::conj);
}

void Corrections::name_by_series() {
  const bool denies = draft_.any(0, draft_.size() - 1, [](const Item& item) {
    return item.is(Sense::not_) || item.is(Sense::correction);
  });
  if (!opens_ && !denies) return;
  if (draft_.has_label(Of::bag) || draft_.has_label(Of::sample)) return;
  if (counts_or_measures() && !number_for_kind()) return;
  const auto gap = [](const std::string& digits, const std::string& last) {
    return in_series(digits, last) ? std::abs(std::stoi(digits) - std::stoi(last)) : 1000;
  };
  int to_sample = 1000;
  int to_bag = 1000;
  std::set<std::string> bare;
  for (const Value& value : values_) {
    if (value.type != Value::Type::number) continue;
    const std::string digits = read_label(draft_, value.first).digits;
    if (digits.empty()) return;
    bare.insert(digits);
    to_sample = std::min(to_sample, gap(digits, draft_.context.last_sample));
    to_bag = std::min(to_bag, gap(digits, draft_.context.last_bag));
  }
  if (bare.empty() || bare.size() > 2 || to_sample == to_bag) return;
  for (Value& value : values_) {
    if (value.type == Value::Type::number)
      make_label(draft_, value, to_bag < to_sample ? Of::bag : Of::sample);
  }
}

bool Corrections::number_for_kind() const {
  if (!opens_ || values_.empty() || values_.front().type != Value::Type::number) return false;
  const Value& number = values_.front();
  const At kind = draft_.skip(number.last + 2, {Sense::determiner, Sense::colour});
  return cue(draft_.at(number.first - 1)) && draft_.at(number.last + 1).is("for") &&
         kind > number.last + 2 && draft_.at(kind).rock() && values_.size() == 2;
}

bool Corrections::counts_or_measures() const {
  return draft_.any(0, draft_.size() - 1, [](const Item& item) {
    return item.is(Sense::unit) || item.is(Sense::percent) || item.is(Sense::count) ||
           item.is(Sense::piece) || item.is(Sense::quantity) || item.rock() ||
           item.is(Sense::at_most) || item.is(Sense::at_least) ||
           item.kind == Item::Kind::fraction || item.kind == Item::Kind::station ||
           item.any_of({"minutes", "minute", "hours", "hour", "seconds", "o'clock", "past",
                        "degrees", "out", "time"});
  });
}

void Corrections::name_new_number(At cue_at) {
  for (Value& value : values_) {
    if (value.type != Value::Type::number || value.first < cue_at) continue;
    const Item& next = draft_.at(value.last + 1);
    if (next.is(Sense::unit) || next.is(Sense::percent) || next.is(Sense::piece) || next.rock())
      continue;
    const Item& before = draft_.at(value.first - 1);
    const bool object = before.is(Sense::correction) || before.is(Sense::toward) ||
                        before.is(Sense::is) || before.is(Sense::restart) || before.is("but");
    if (!object) continue;
    // "it's bag fourteen now for forty four": whose it is
    if (before.is("for") && draft_.has_label(Of::bag) &&
        known_sample(read_label(draft_, value.first).digits)) {
      make_label(draft_, value, Of::sample);
      draft_.labels.back().reference = true;
      continue;
    }
    if (const Value* label = label_before(value.first)) {
      const Of of = label_sort(label->type);
      if (of == Of::bag) draft_.labels[label->label].denied = true;
      make_label(draft_, value, of);
    }
  }
}

}  // namespace stonecall::reading::corrections
