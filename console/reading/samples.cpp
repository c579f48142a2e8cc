#include <algorithm>

#include "console/reading/labels.hpp"

namespace stonecall::reading {
namespace {

using At = Draft::At;
using Of = LabelSaid::Of;

bool stated(const Draft& draft, const LabelSaid& label) {
  return !label.denied && draft.at(label.number).mutes == 0;
}

}  // namespace

void read_samples(Draft& draft) {
  const auto has = [&](auto is) {
    return std::any_of(draft.proposals.begin(), draft.proposals.end(),
                       [&](const Proposal& proposal) { return is(proposal.fact); });
  };
  const bool described = has([](const Fact& fact) {
    return std::holds_alternative<LongestSide>(fact) || std::holds_alternative<BuriedPart>(fact);
  });
  const bool pictured =
      has([](const Fact& fact) { return std::holds_alternative<PhotoTaken>(fact); });
  const bool photos = draft.takes_photos || pictured;
  const bool rock =
      draft.any(0, draft.size() - 1, [](const Item& item) { return item.stated_rock(); });
  bool bagged = false;
  for (const LabelSaid& label : draft.labels)
    bagged = bagged || (label.of == Of::bag && stated(draft, label));

  At event_first = -1;
  At event_last = -1;
  bool known = false;
  for (const LabelSaid& label : draft.labels) {
    if (label.of != Of::sample || !stated(draft, label)) continue;
    known = known || labels::is_known(draft, label.digits);
    // "that's number four in bag five", of the rock that was picked up a moment ago
    const bool number_of_picked = draft.context.unnumbered && !rock && !described &&
                                  (labels::gives_number(draft.at(label.first - 1)) ||
                                   draft.at(label.first - 1).any_of({"that", "it"}));
    if (number_of_picked) continue;
    const bool alone = label.first <= 1 && label.last + 2 >= draft.size();
    const bool bare_but_full = label.bare && !(bagged && (rock || label.in_series)) &&
                               !(draft.at(label.first).is(Sense::number) && rock && described);
    if (label.reference || labels::is_known(draft, label.digits)) continue;
    const bool bag_behind = draft.at(label.last + 1).is(Sense::bag) ||
                            (labels::bag_follows(draft, label.last + 1) && !photos) ||
                            (labels::comes_next(draft, label.digits) && bagged && rock);
    // "forty three is the skarn, hand sized, half buried", where forty two was the last
    const bool next_described = labels::comes_next(draft, label.digits) && rock && described;
    if (bare_but_full && !bag_behind && !next_described) continue;
    const bool tells =
        rock || described || (bagged && !draft.at(label.last + 1).is("goes") && !photos);
    if (photos && !rock && !described) continue;
    const bool next_to_bag = bagged && draft.at(label.last + 1).is(Sense::bag) && !photos;
    const bool spoken_of = draft.at(label.last + 1).is("is") && !rock && !described;
    if ((tells && !spoken_of) || alone || next_to_bag) {
      event_first = label.first;
      event_last = label.last;
      break;
    }
  }
  if (event_first < 0 && !known && !draft.counts) {
    for (At i = 0; i < draft.size() && event_first < 0; ++i) {
      const Item& item = draft.at(i);
      if (!item.is(Sense::pick) || item.mutes) continue;
      // "I've got it at forty percent granite"
      if (item.is("i've got it") && !draft.at(i + 1).mark()) continue;
      const bool not_done = draft.any(i - 4, i - 1, [](const Item& before) {
        return before.is(Sense::sees_not) || before.is(Sense::no) || before.is(Sense::not_);
      });
      // "before we lifted it", "lifted it" with photographs: told of, not new
      const bool lifted = item.text.starts_with("lifted");
      if (lifted && (photos || draft.any(i - 4, i - 1, [](const Item& before) {
            return before.any_of({"before", "when", "until", "once", "has", "where"}) ||
                   before.is(Sense::after_weak) || before.is(Sense::wish);
          })))
        continue;
      // "the stereo of it before she grabbed it"
      const bool told_of = draft.any(i - 3, i - 1, [](const Item& before) {
        return before.any_of({"before", "when", "until", "once"});
      });
      if (told_of && photos) continue;
      const bool picked_before = draft.any(i + 1, i + 6, [](const Item& after) {
        return after.is(Sense::because);
      }) && !bagged && draft.at(i).is("picked it up");
      // "we've bagged five so far"
      const bool summed_up =
          draft.at(i + 1).number() && draft.any(i + 2, i + 4, [](const Item& after) {
            return after.any_of({"so far", "already", "up to now", "to date"});
          });
      if (!not_done && !picked_before && !summed_up) event_first = event_last = i;
    }
  }
  if (event_first >= 0) {
    draft.new_sample = true;
    draft.propose(Happened{What::sample}, event_first, event_last, 0.9);
  }

  for (const LabelSaid& label : draft.labels) {
    // "got the stereo, still need the down sun for seven": the sample is the same for both
    const bool of_pictures = pictured && label.of == Of::sample && !label.denied &&
                             draft.at(label.number).mutes == Item::wished;
    if (!stated(draft, label) && !of_pictures) continue;
    if (label.of == Of::bag) {
      draft.propose(BagNumber{label.digits}, label.first, label.last, 0.95);
    } else if (!label.bare || label.in_series || pictured || bagged || described ||
               event_first >= 0 || draft.at(label.first).is(Sense::number)) {
      draft.propose(FieldNumber{label.digits}, label.first, label.last, label.bare ? 0.8 : 0.95);
    }
  }
}

}  // namespace stonecall::reading
