#include <optional>

#include "console/reading/labels.hpp"

namespace stonecall::reading {
namespace {

using At = Draft::At;

bool is_plain_picture(const Item& item) {
  return item.is(Sense::stereo) || item.is(Sense::down_sun) || item.is(Sense::after);
}

bool is_view(const Item& item) {
  return is_plain_picture(item) || item.is(Sense::pair) || item.is(Sense::after_weak);
}

bool sounds_like_pair(const Item& item) {
  return item.any_of({"pear", "pears", "pare", "pares"});
}

std::optional<Picture> picture_of(const Draft& draft, At i, bool photos) {
  const Item& item = draft.at(i);
  if (item.is(Sense::stereo)) return Picture::stereo;
  if (item.is(Sense::down_sun)) return Picture::down_sun;
  if (item.is(Sense::after)) {
    // "the after" alone may go on: "the after effects"
    return Picture::after;
  }
  if (item.is(Sense::pair)) {
    // "pears done on both": fruit unless pictures are spoken of
    if (sounds_like_pair(item) && !photos && !draft.at(i + 1).is(Sense::finished))
      return std::nullopt;
    const bool named = draft.at(i - 1).is(Sense::determiner) || draft.at(i - 1).mark() ||
                       draft.at(i - 1).is(Sense::conj) || item.text != "pair" ||
                       draft.at(i - 1).any_of({"its", "got", "took"}) ||
                       (draft.at(i - 1).number() && draft.at(i - 1).used);
    // "pair on nine oh four"
    const std::string& digits = draft.at(i + 2).text;
    const bool of_sample =
        draft.at(i + 1).any_of({"on", "of", "for"}) && draft.at(i + 2).number() &&
        !draft.at(i + 3).rock() && !draft.at(i + 3).is(Sense::piece) &&
        (draft.has_label(LabelSaid::Of::sample) || digits == draft.context.last_sample);
    const bool of_last = !draft.context.last_sample.empty() &&
                         draft.at(i + 1).any_of({"on", "of", "for"}) &&
                         (draft.at(i + 2).is(Sense::one) ||
                          draft.at(i + 2).any_of({"that", "this", "it", "them", "both", "those"}));
    if (of_sample || of_last) return Picture::stereo;
    const bool of_things = draft.at(i + 1).is(Sense::preposition) && !draft.at(i + 2).number();
    return named && !of_things &&
                   (photos || item.text != "pair" || draft.at(i + 1).is(Sense::finished) ||
                    draft.at(i + 1).is(Sense::photo) ||
                    draft.any(0, draft.size() - 1,
                              [](const Item& any) { return any.is(Sense::after_weak); }))
               ? std::optional(Picture::stereo)
               : std::nullopt;
  }
  // "after's done now", "after is taken"
  if (item.is(Sense::after_weak) && draft.at(i - 1).mark()) {
    const At verb = draft.skip(i + 1, {Sense::is});
    const bool is = verb > i + 1 || item.words.end - item.words.begin > 5;
    if ((is || draft.at(verb + 1).mark()) &&
        (draft.at(verb).is(Sense::finished) || draft.at(verb).is(Sense::photo)))
      return Picture::after;
    // "after one four four": a sample, and nothing behind it
    for (const LabelSaid& label : draft.labels) {
      if (label.of == LabelSaid::Of::sample && label.first == i + 1 &&
          draft.at(label.last + 1).mark())
        return Picture::after;
    }
    // "after of 205 in focus this time"
    const At sample = draft.skip(i + 2, {Sense::sample, Sense::number});
    if (draft.at(i + 1).any_of({"of", "for", "on"}) && draft.at(sample).number())
      return Picture::after;
  }
  // "And after." of pictures taken in the note before
  if (item.is(Sense::after_weak) && item.any_of({"after", "and after"}) && draft.at(i + 1).mark() &&
      !draft.any(0, draft.size() - 1, [&](const Item& other) {
        return &other != &item && !other.mark() && !other.is(Sense::conj) &&
               !other.is(Sense::finished) && !other.is(Sense::filler);
      }))
    return Picture::after;
  // "and there's your after", "his after's done"
  if (item.is(Sense::after_weak) && draft.at(i - 1).is(Sense::determiner) &&
      (draft.at(i + 1).mark() || draft.at(i + 1).is(Sense::is) ||
       draft.at(i + 1).is(Sense::finished) || draft.at(i + 1).any_of({"for", "of", "on"})))
    return Picture::after;
  // "lifted and after taken", "feet moved after taken"
  if (item.is(Sense::after_weak) &&
      draft.at(i + 1).any_of({"taken", "shot", "snapped", "photographed"}) &&
      draft.at(i + 2).mark())
    return Picture::after;
  if (item.is(Sense::after_weak) && photos) {
    // "stereo, down sun and after"; not "after we lifted it"
    const Item& next = draft.at(i + 1);
    const bool ends =
        next.mark() || next.is(Sense::photo) || next.is(Sense::finished) || next.is(Sense::conj) ||
        next.is(Sense::toward) || next.is(Sense::number) || next.is(Sense::sample) ||
        next.number() || next.is(Sense::at) || next.is(Sense::filler) ||
        next.is(Sense::preposition) || is_view(next) ||
        next.any_of({"yes", "ok", "okay", "too", "both", "shot", "for", "on", "all", "as"}) ||
        (next.any_of({"i", "we"}) && draft.at(i + 2).is(Sense::sees_not));
    return ends ? std::optional(Picture::after) : std::nullopt;
  }
  return std::nullopt;
}

bool refuses(const Item& item) {
  return item.is(Sense::no) || item.is(Sense::sees_not) || item.is(Sense::not_) ||
         item.is(Sense::wish) || item.is(Sense::guess) ||
         item.any_of({"forgot",  "forgotten",   "missed",     "skipped", "skipping", "skip",
                      "owe",     "missing",     "still",      "lost",    "ruined",   "without",
                      "waiting", "try",         "next",       "except",  "bar",      "minus",
                      "pending", "outstanding", "short",      "lacks",   "lack",     "forget",
                      "blew",    "before",      "spoiled",    "botched", "leave",    "holding",
                      "hold",    "postpone",    "postponing", "delaying"});
}

bool allows(const Item& item) {
  return item.is(Sense::but) ||
         item.any_of({"only", "just", "got", "took", "done", "taken", "have", "has", "instead",
                      "managed"}) ||
         item.is(Sense::finished);
}

/// Whether the picture at i is said not to be taken: "no stereo on eight, only the down sun".
bool refused_before(const Draft& draft, At i) {
  // "no stereo, down sun only"
  if (draft.at(i - 1).comma() && draft.at(i + 1).is("only") && draft.at(i + 2).mark()) return false;
  bool in_list = true;
  for (At k = i - 1; k >= 0 && k >= i - 8; --k) {
    const Item& item = draft.at(k);
    if (item.stop()) return false;
    if (item.comma()) {
      if (draft.at(i + 1).is(Sense::finished) || draft.at(i + 1).is("taken")) return false;
      // "no stereo, no down sun"; the list goes back over commas only from picture to picture
      if (!is_view(draft.at(k - 1)) || !in_list) return false;
      in_list = draft.at(k + 1).any_of({"or", "nor"}) || is_view(draft.at(k + 1));
      if (!in_list) return false;
      continue;
    }
    if (item.is("bar") || item.is("except") || item.is("without") || item.is("missing"))
      return true;
    if (refuses(item)) return true;
    // "too shady for the down sun"
    if (item.is("too") &&
        draft.any(k + 1, i - 1, [](const Item& between) { return between.is("for"); }))
      return true;
    if (allows(item)) {
      // "haven't done the after": what allows is itself denied
      return draft.any(k - 2, k - 1, [](const Item& before) {
        return before.is(Sense::sees_not) || before.is(Sense::not_);
      });
    }
    if (item.is(Sense::conj) && !item.any_of({"or", "and"})) return false;
    if (item.is("and") && !is_view(draft.at(k - 1))) return false;
  }
  return false;
}

/// "the down sun didn't come out", "stereo still to do", "after to follow".
bool refused_after(const Draft& draft, At i) {
  // "down-sun, no, cloud"
  if (draft.at(i + 1).comma() &&
      (draft.at(i + 2).any_of({"not yet", "to come", "to follow", "later", "pending", "waiting",
                               "waiting for", "waiting on", "outstanding", "still to do"}) ||
       (draft.at(i + 2).any_of({"no", "nope", "none", "not", "negative", "nil"}) &&
        (draft.at(i + 3).mark() || draft.at(i + 3).is("yet")))))
    return true;
  for (At k = i + 1; k <= i + 5; ++k) {
    const Item& item = draft.at(k);
    if (item.mark() || item.is(Sense::conj) || item.is(Sense::but) || is_view(item) ||
        item.is(Sense::finished) || item.is("taken"))
      return false;
    // "stereo and after, I couldn't do the down sun", "the pair of that, I'll do the after":
    // another picture
    const bool of_next =
        item.is(Sense::sees_not) || item.any_of({"i", "we", "i will", "we will", "i'll", "we'll",
                                                 "forgot", "missed", "skipped"});
    if (of_next && draft.any(k + 1, draft.clause_end(k), is_view)) return false;
    // "the after of eight, no down sun"; "once we had lifted it": it is done
    if (item.is("no") && is_view(draft.at(k + 1))) return false;
    if (item.is("once") && draft.any(k + 1, k + 3, [](const Item& after) {
          return after.any_of({"had", "lifted", "lifted it", "was", "we'd", "i'd"});
        }))
      return false;
    if (item.is(Sense::sees_not) || item.is(Sense::not_) || item.is(Sense::none_here) ||
        item.any_of({"i will",    "we will", "i'll",    "we'll",       "as soon as",  "once",
                     "will",      "have to", "wait",    "to do",       "still to do", "to come",
                     "to follow", "needs",   "missing", "failed",      "forgot",      "missed",
                     "ruined",    "spoiled", "pending", "outstanding", "later",       "forgotten",
                     "blurred",   "no",      "next",    "skipped",     "lost",        "needed",
                     "negative",  "nil"})) {
      return true;
    }
  }
  return false;
}

}  // namespace

void read_photos(Draft& draft) {
  const bool plain = draft.any(0, draft.size() - 1, is_plain_picture);
  const bool photos = plain || draft.any(0, draft.size() - 1, [](const Item& item) {
    if (item.is(Sense::pair) && item.text != "pair" && !sounds_like_pair(item)) return true;
    return item.is(Sense::photo) && !item.is("taken") && !item.is("shot") && !item.is("camera");
  });
  for (At i = 0; i < draft.size(); ++i) {
    const Item& item = draft.at(i);
    if (item.mutes) continue;
    // "all three pictures for five are done"
    if (labels::picture_set(draft, i) && !plain && !refused_before(draft, i) &&
        !refused_after(draft, i)) {
      draft.takes_photos = true;
      for (const Picture each : {Picture::stereo, Picture::down_sun, Picture::after})
        draft.propose(PhotoTaken{each}, i, i + 1, 0.8);
      continue;
    }
    const auto picture = picture_of(draft, i, photos);
    if (!picture) continue;
    draft.takes_photos = true;
    if (refused_before(draft, i) || refused_after(draft, i)) continue;
    draft.propose(PhotoTaken{*picture}, i, i, 0.9);
  }
}

}  // namespace stonecall::reading
