#include "console/reading/corrections.hpp"

namespace stonecall::reading::corrections {

void Corrections::take_back() {
  for (At i = 0; i < draft_.size(); ++i) {
    if (draft_.at(i).is(Sense::retract)) draft_.mute(0, i, Item::replaced);
  }
}

void Corrections::replace_inside() {
  for (At i = 0; i < draft_.size(); ++i) {
    const bool no = no_cue(draft_, i);
    if (!cue(draft_.at(i)) && !no) continue;
    if (draft_.at(i).low > 0) continue;  // "should be" speaks of an earlier note
    At last = i;
    while (cue(draft_.at(last + 1)) || draft_.at(last + 1).comma() ||
           draft_.at(last + 1).is("no") || draft_.at(last + 1).is(Sense::restart) ||
           draft_.at(last + 1).is(Sense::one) || draft_.at(last + 1).is(Sense::determiner) ||
           draft_.at(last + 1).is(Sense::colour) || draft_.at(last + 1).is(Sense::shape) ||
           draft_.at(last + 1).is(Sense::texture) || draft_.at(last + 1).is(Sense::is) ||
           draft_.at(last + 1).is("at") || draft_.at(last + 1).any_of({"definitely", "."})) {
      ++last;
    }
    Value* after = value_at(last + 1, last + 2);
    if (no) draft_.mute(i, i, Item::replaced);  // it denies nothing
    if (!after || (after->type != Value::Type::number && after->first > last + 1)) {
      i = last;
      continue;
    }
    // "that's sixty eight, sorry, we have a sixty seven already"
    // "then it's slate, scratch the granite"
    if ((is_label(after->type) && draft_.labels[after->label].denied) ||
        (after->type == Value::Type::rock && (draft_.at(after->first).mutes & Item::denied))) {
      i = last;
      continue;
    }
    if (after->type == Value::Type::number)
      replace_number(*after, i);
    else if (Value* before = value_before(i, after->type))
      replace(*before, i);
    i = last;
  }
}

bool Corrections::replace_amount() {
  const auto amount = [&](At i) {
    const Item& item = draft_.at(i);
    return item.kind == Item::Kind::fraction || item.is(Sense::quantity) ||
           item.is(Sense::burial) || item.is(Sense::compare) ||
           (item.number() && !item.used &&
            (draft_.at(i + 1).is(Sense::percent) || draft_.at(i + 1).is(Sense::unit)));
  };
  for (At said = 0; said < draft_.size(); ++said) {
    const bool told = draft_.at(said).any_of(
        {"i said", "we said", "i'd said", "i had said", "did i say", "i called"});
    const bool put = draft_.at(said).any_of({"i", "we"}) &&
                     draft_.at(said + 1).any_of({"put", "gave", "thought", "guessed", "had"});
    if (!told && !put) continue;
    At old = said + 1;
    while (old <= said + 9 && !amount(old)) ++old;
    if (old > said + 9) continue;
    for (At cue_at = old + 1; cue_at <= old + 9 && !draft_.at(cue_at).stop(); ++cue_at) {
      const bool instead =
          draft_.at(cue_at).any_of({"nearer", "closer to", "make it", "make that", "call it",
                                    "close to", "should be"}) ||
          (draft_.at(cue_at).is("like") && draft_.at(cue_at - 1).is("more")) ||
          (draft_.at(cue_at).is("it") && draft_.at(cue_at - 1).any_of({"call", "make"}));
      if (!instead || !(amount(cue_at + 1) || amount(cue_at + 2))) continue;
      const bool figure = draft_.at(old).number();
      draft_.mute(old, figure ? old + 1 : old, Item::replaced);
      return true;
    }
  }
  return false;
}

void Corrections::replace(Value& before, At cue_at) {
  if (cue_at - before.last > 6) return;
  if (is_label(before.type)) {
    const LabelSaid& label = draft_.labels[before.label];
    // "stereo of twenty four taken, no wait, that was twenty five"
    const bool of_picture = label.of == Of::sample && draft_.at(label.first - 1).is("of") &&
                            (draft_.at(label.first - 2).is(Sense::stereo) ||
                             draft_.at(label.first - 2).is(Sense::down_sun) ||
                             draft_.at(label.first - 2).is(Sense::after) ||
                             draft_.at(label.first - 2).is(Sense::after_weak));
    if (label.reference && !of_picture) return;
  }
  draft_.mute(before.first, before.last, Item::replaced);
  replaced_ = true;
}

void Corrections::replace_number(Value& after, At cue_at) {
  if (draft_.at(after.first).mutes & Item::asked) return;  // "hang on, is it four, yeah four"
  const Item& next = draft_.at(after.last + 1);
  if (next.is(Sense::unit) || next.is(Sense::percent)) {
    Value* before = value_before(cue_at, Value::Type::number);
    if (before && cue_at - before->last <= 3) {
      draft_.mute(before->first, cue_at - 1, Item::replaced);
      replaced_ = true;
    }
    return;
  }
  if (Value* before = value_before(cue_at, Value::Type::number)) {
    const At behind = before->last + 1;
    // "twelve granite, no, eleven granite"
    const bool count = next.rock() && draft_.at(behind).rock() &&
                       draft_.at(behind).index == next.index && cue_at - behind <= 2;
    // "around sixty percent granite, sorry, I mean forty"
    const bool percent = draft_.at(behind).is(Sense::percent) && next.mark() &&
                         cue_at - behind <= 5 && draft_.at(after.first).low <= 100;
    // "nine rhyolite, no ten, six dacite": the kind is not said again
    const bool recount =
        draft_.at(behind).rock() && next.mark() && cue_at - behind <= 2 &&
        before->first == before->last && after.first == after.last &&
        draft_.at(before->first).text != draft_.at(after.first).text &&
        draft_.any(0, draft_.size() - 1, [](const Item& item) {
          return item.is(Sense::count) || item.is(Sense::look) || item.is(Sense::rest);
        });
    if (recount) {
      Item& number = draft_.edit(before->first);
      number.low = draft_.at(after.first).low;
      number.text = draft_.at(after.first).text;
      draft_.mute(after.first, after.last, Item::replaced);
      replaced_ = true;
      return;
    }
    if (count) draft_.mute(before->first, behind, Item::replaced);
    if (percent) draft_.mute(before->first, behind, Item::replaced);
    if (count || percent) {
      replaced_ = true;
      return;
    }
  }
  Value* before = label_before(cue_at);
  if (!before || cue_at - before->last > 4) return;
  const auto type = before->type;
  replace(*before, cue_at);
  if (replaced_) make_label(draft_, after, label_sort(type));
}

}  // namespace stonecall::reading::corrections
