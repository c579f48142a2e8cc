#include <algorithm>
#include <array>
#include <string_view>

#include "console/reading/recognisers.hpp"

namespace stonecall::reading {
namespace {

using At = Draft::At;

bool opens_speech(const Item& item) {
  return item.any_of({"base",   "okay", "ok",    "right", "so",     "and",   "hey",  "hello",
                      "well",   "copy", "roger", "oh",    "listen", "field", "back", "room",
                      "this",   "one",  "two",   "three", "over",   "then",  "team", "home",
                      "please", "hi",   "yeah",  "yes",   "um"}) ||
         item.is(Sense::conj) || item.is(Sense::now) || item.is(Sense::filler) ||
         item.is(Sense::but) || item.is(Sense::soft_correction) || item.number();
}

bool asks(const Item& item) {
  return item.is(Sense::asks) || item.is(Sense::asks_anywhere);
}

/// Of the asking phrases those that, without a question mark, ask all the same.
bool asks_plainly(const Item& item) {
  if (!asks(item)) return false;
  const bool phrase = item.text.find(' ') != std::string::npos;
  return phrase || item.any_of({"question", "query", "request", "requesting", "what's", "how's",
                                "where's", "who's", "wanna"});
}

/// "do you", "have we", "shall I": the verb before its subject asks wherever it stands, except in
/// "so do we", "all I can I took", "if should we".
bool inverted(const Draft& draft, At i) {
  const Item& item = draft.at(i);
  if (!item.is(Sense::asks)) return false;
  // "what do we do about it"
  if (item.text.starts_with("what ") || item.text.starts_with("how ") ||
      item.text.starts_with("where ") || item.text.starts_with("when ")) {
    const bool verb = item.text.ends_with(" do") || item.text.ends_with(" does") ||
                      item.text.ends_with(" did") || item.text.ends_with(" should") ||
                      item.text.ends_with(" would") || item.text.ends_with(" can");
    return verb && draft.at(i + 1).any_of({"i", "we", "you", "they", "he", "she"});
  }
  static constexpr std::array<std::string_view, 12> verbs{"do",  "did",   "should", "shall",
                                                          "can", "could", "would",  "will",
                                                          "are", "have",  "were",   "had"};
  const std::size_t space = item.text.find(' ');
  if (space == std::string::npos) return false;
  const std::string_view verb = std::string_view(item.text).substr(0, space);
  const std::string_view subject = std::string_view(item.text).substr(space + 1);
  if (std::find(verbs.begin(), verbs.end(), verb) == verbs.end() ||
      (subject != "you" && subject != "we" && subject != "i"))
    return false;
  const Item& before = draft.at(i - 1);
  const std::size_t last = before.text.rfind(' ');
  const std::string_view word = last == std::string::npos
                                    ? std::string_view(before.text)
                                    : std::string_view(before.text).substr(last + 1);
  static constexpr std::array<std::string_view, 17> subjects{
      "i",   "we",      "you",   "they", "he", "she",  "it",   "there", "so",
      "nor", "neither", "never", "if",   "as", "than", "only", "not"};
  return before.mark() || std::find(subjects.begin(), subjects.end(), word) == subjects.end();
}

/// "Is coal on the list", "does the gneiss count": the verb opens the sentence and its subject
/// follows.
bool verb_opens(const Draft& draft, At start, At last) {
  if (start + 2 > last || draft.at(start - 1).number()) return false;  // "sixty is gabbro too"
  if (!draft.at(start).any_of(
          {"is", "are", "does", "do", "did", "will", "would", "can", "could", "should"}))
    return false;
  const At subject = draft.skip(start + 1, {Sense::determiner});
  const Item& noun = draft.at(subject);
  if (!noun.rock() && !noun.is(Sense::sample) && !noun.is(Sense::bag) && !noun.is(Sense::piece) &&
      noun.kind != Item::Kind::station)
    return false;
  // "is basalt with olivine": the subject was left out
  const Item& next = draft.at(subject + 1);
  return subject < last && !next.mark() && !next.is(Sense::conj) && !next.is(Sense::not_);
}

/// "Let's do a count" before item i, in its sentence.
bool lets_us(const Draft& draft, At i) {
  return draft.any(draft.sentence_begin(i), i - 1, [](const Item& item) {
    return item.any_of({"let's", "lets", "let us"});
  });
}

/// "Is that mylonite, no it's a shadow": the speaker answers himself.
At own_answer(const Draft& draft, At from, At last) {
  for (At i = from + 1; i < last; ++i) {
    // "so what have we got, there's loads of granite"
    const bool looks = draft.at(i - 1).any_of({"got", "here", "have"}) &&
                       draft.any(from - 1, i - 1, [](const Item& item) { return item.is("what"); });
    if (looks && (draft.at(i).any_of({"there's", "there is", "there are", "it's"}) ||
                  (draft.at(i).rock() && draft.at(i - 1).is("here"))))
      return i - 1;
    // "so what have we got here, about a third is ignimbrite"
    if (looks && draft.at(i).comma() &&
        draft.any(i + 1, last, [](const Item& item) { return item.rock(); }))
      return i - 1;
    // "what's this it's a bit of jasper", "let's do a count shall we, so this is thirty stones"
    const bool this_here = draft.at(from).any_of({"what's", "what is"}) &&
                           draft.at(i - 1).any_of({"this", "that", "here", "this here"});
    const bool proposed =
        draft.at(from).any_of({"shall we", "should we"}) && i == from + 1 && lets_us(draft, from);
    // "is it, oh okay, five oh six then"
    const bool surprised = i == from + 1 && draft.at(from).any_of({"is it", "was it", "did i"}) &&
                           draft.at(draft.at(i).comma() ? i + 1 : i)
                               .any_of({"oh", "ok", "okay", "right", "yeah", "fair", "ah"});
    if (surprised) return from;
    // "hang on, is it four, yeah four"
    const bool again = draft.at(i - 1).comma() &&
                       draft.at(i).any_of({"yes", "yeah", "yep", "no", "nope"}) &&
                       draft.at(i + 1).number() &&
                       draft.any(from, i - 1, [](const Item& item) { return item.number(); });
    if (again) return draft.at(i).any_of({"no", "nope"}) ? i - 1 : i + 1;
    if (this_here && draft.at(i).is(Sense::restart)) return i - 1;
    if (proposed) return from;
    if (draft.at(i).any_of({"no", "nope", "yes", "yeah", "yep"}) &&
        draft.at(i + 1).is(Sense::restart))
      return i;
  }
  return -1;
}

/// Where the asking starts in the sentence [first, last]; −1: it does not ask.
At asking_from(const Draft& draft, At first, At last, bool question_mark) {
  At start = first;
  while (start <= last && (opens_speech(draft.at(start)) || draft.at(start).comma())) ++start;
  // "one one three is a slate": a numbered sample and a verb, unless a sender says who he is.
  const bool sender = draft.at(start - 2).any_of({"field", "team", "party", "crew", "group"});
  const bool described = !question_mark && start > first && draft.at(start - 1).number() &&
                         !sender && draft.at(start).text.starts_with("is ");
  if (described) return -1;
  // "Hut, have we got time": who is spoken to
  if (start < last && draft.at(start).sense == Sense::none && draft.at(start + 1).comma() &&
      draft.at(start).kind == Item::Kind::word)
    start += 2;
  // "hey ranch what's the plan"
  if (start > first && start < last && draft.at(start).kind == Item::Kind::word &&
      draft.at(start).sense == Sense::none && asks_plainly(draft.at(start + 1)) &&
      !draft.at(start).any_of({"i", "we", "you", "he", "she", "they", "it"}))  // "yes I did"
    ++start;
  // "did the down sun of eight": told, with its subject left out
  const bool picture =
      draft.at(start + 1).is(Sense::stereo) || draft.at(start + 1).is(Sense::down_sun) ||
      draft.at(start + 1).is(Sense::after) || draft.at(start + 1).is(Sense::after_weak) ||
      draft.at(start + 1).is(Sense::pair) || draft.at(start + 1).is(Sense::photo);
  if (!question_mark && picture && draft.at(start).any_of({"did", "did the", "did a", "did its"}))
    return -1;
  // "hay edda is it nine or ten on that label": a choice is asked for
  const bool choice = draft.any(start, last, [](const Item& item) { return item.is("or"); });
  for (At i = start; choice && i <= start + 2 && i < last; ++i) {
    if (i > start && draft.at(i).any_of({"is it", "is that", "was it", "was that"})) return i;
    if (draft.at(i).kind != Item::Kind::word || draft.at(i).sense != Sense::none ||
        draft.at(i).any_of({"i", "we", "you", "he", "she", "they", "it"}))
      break;
  }
  // "what else, basalt, some tuff": to himself
  const bool musing =
      !question_mark && draft.at(start).any_of({"what else", "anything else"}) &&
      draft.at(start + 1).comma() &&
      draft.any(start + 2, std::min(start + 5, last), [](const Item& item) { return item.rock(); });
  if (musing) ++start;
  if (asks_plainly(draft.at(start)) && start <= last) return start;
  if (verb_opens(draft, start, last)) return start;
  for (At i = musing ? start : first; i <= last; ++i) {
    const Item& item = draft.at(i);
    const bool denies = draft.at(i - 1).any_of({"nor", "neither", "what", "all", "only", "so"});
    if ((item.is(Sense::asks_anywhere) && !denies) || inverted(draft, i)) {
      // "is one granite enough or do you want more"
      if (draft.at(i - 1).is("or")) {
        for (At k = first; k < i - 1; ++k) {
          if (draft.at(k).is(Sense::asks)) return k;
        }
        // "is base happy with one or shall we get a second": the verb opens what is chosen from
        if (draft.at(start).any_of({"is", "are", "was", "were", "do", "does", "did", "can", "could",
                                    "will", "would", "should", "have", "has"}))
          return start;
      }
      // "how deep have we": from the asking word on
      for (At k = i - 1; k >= first && k >= i - 3 && !draft.at(k).mark(); --k) {
        if (draft.at(k).is(Sense::asks) || draft.at(k).any_of({"what", "when", "why"})) return k;
      }
      return i;
    }
    const bool opens_clause = draft.at(i - 1).comma() || draft.at(i - 1).is(Sense::conj) ||
                              draft.at(i - 1).is(Sense::but);
    if (asks_plainly(item) && (question_mark || opens_clause)) return i;
  }
  return question_mark ? first : -1;
}

/// "What means cornstone, is it limestone?": the asking word opens the sentence, so all of it asks.
At whole_question(const Draft& draft, At first, At from, bool question_mark) {
  if (!question_mark || from <= first) return from;
  const At start = draft.skip(first, {Sense::filler, Sense::conj, Sense::now});
  const bool asking =
      draft.at(start).any_of({"what", "which", "where", "when", "why", "who", "how"}) ||
      (draft.at(start).is(Sense::asks) &&
       (draft.at(start).text.starts_with("wh") || draft.at(start).text.starts_with("how")));
  return asking ? start : from;
}

/// "Oh is it?", "What's this?", "What have we got here?": a word of surprise; no answer is waited
/// for.
bool is_tag(const Draft& draft, At from, At last) {
  const auto only = [&](At i) {
    while (i <= last && (draft.at(i).is(Sense::now) || draft.at(i).is(Sense::filler) ||
                         draft.at(i).is(Sense::seen) || draft.at(i).comma() ||
                         draft.at(i).any_of({"this", "that", "then", "here", "these", "those"})))
      ++i;
    return i > last;
  };
  const Item& item = draft.at(from);
  if (from == last && item.is("shall we") && lets_us(draft, from)) return true;
  // "…, if that's okay with you, is it?" asks
  const bool alone = !draft.any(draft.sentence_begin(from), from - 1, [](const Item& before) {
    return !before.mark() && !before.is(Sense::filler) && !before.is(Sense::conj) &&
           !before.any_of({"oh", "so", "well", "ah", "ooh", "okay", "ok"});
  });
  if (from == last && alone)
    return item.any_of({"is it", "was it", "is that", "did he", "did she", "do they", "are they",
                        "does it", "have they", "has it", "did they", "did it", "are you",
                        "did you", "have you", "do you", "really", "were they", "were you"});
  if (item.any_of({"what's", "what is", "what are", "who's"}))
    return draft.at(from + 1).is(Sense::determiner) && only(from + 1);
  return item.is("what") && draft.at(from + 1).any_of({"have we", "do we", "have i"}) &&
         only(from + 2);
}

/// "Did you get the stereo before you moved it": what only the party itself takes or moves is asked
/// of one another.
bool asks_the_party(const Draft& draft, At from, At last) {
  // "how much would you say, Jory": one of the party is spoken to. In front may stand
  // the speaker's own name: "Barn, Jory, shall we".
  const auto of_party = [&](const Item& item) {
    return item.kind == Item::Kind::word &&
           std::ranges::find(draft.context.party, item.text) != draft.context.party.end();
  };
  if (of_party(draft.at(last))) return true;
  if (!draft.context.speaker.empty() &&
      draft.any(draft.sentence_begin(from), from - 1, [&](const Item& item) {
        return of_party(item) && item.text != draft.context.speaker;
      }))
    return true;
  // "how much would you say jory fifteen percent slate": the answer is offered
  if (draft.any(from, last, of_party) && draft.any(from, last, [](const Item& item) {
        return item.text.find("you") != std::string::npos;
      }))
    return true;
  if (is_tag(draft, from, last)) return true;
  // "and the after?": of a picture, and no more
  const At picture = draft.skip(from, {Sense::conj, Sense::determiner, Sense::filler});
  if (picture == last &&
      (draft.at(picture).is(Sense::stereo) || draft.at(picture).is(Sense::down_sun) ||
       draft.at(picture).is(Sense::after)))
    return true;
  // "shall I do the photos for nine or have you", "is anyone else hearing that"
  const bool or_you = draft.at(last - 1).is("or") &&
                      draft.at(last).any_of({"have you", "did you", "will you", "are you", "you"});
  const auto says = [&](std::initializer_list<std::string_view> words) {
    return draft.any(from, last, [&](const Item& item) { return item.any_of(words); });
  };
  const bool anyone =
      says({"anyone else", "anybody else"}) ||
      (says({"is anyone", "is anybody", "has anyone", "has anybody"}) && says({"else"}));
  if (or_you || anyone) return true;
  if (!draft.at(from).any_of({"did you", "have you", "had you", "did you get", "were you"}))
    return false;
  return draft.any(from + 1, last, [](const Item& item) {
    return item.is(Sense::stereo) || item.is(Sense::down_sun) || item.is(Sense::after) ||
           item.is(Sense::pick) || item.any_of({"moved", "lifted", "bag", "photograph", "shot"});
  });
}

/// "Slate? Hardly any." asks nobody: the speaker repeats what was asked and answers it.
/// So does "did I say six? It's seven".
bool is_echo(const Draft& draft, At first, At mark) {
  if (mark + 1 < draft.size() &&
      draft.any(first, mark, [](const Item& item) { return item.is("did i say"); }))
    return true;
  // "That was slate, wasn't it? No, it burns."
  const bool answers = draft.at(mark + 1).any_of({"no", "nope", "yes", "yeah", "yep"}) &&
                       draft.at(mark + 2).comma() && mark - first <= 9;
  if (answers) return true;
  if (mark - first > 5 || mark + 1 >= draft.size()) return false;
  if (draft.any(first, mark, [](const Item& item) {
        return item.is(Sense::asks_anywhere) || asks_plainly(item);
      }))
    return false;
  const At end = draft.sentence_end(mark + 1);
  return draft.any(mark + 1, end, [](const Item& item) {
    return item.is(Sense::none_here) || item.is(Sense::no) || item.is(Sense::quantity) ||
           item.is(Sense::no_quantity) || item.is(Sense::sees_not) || item.is(Sense::approx) ||
           item.is(Sense::percent) || item.kind == Item::Kind::fraction || item.is(Sense::not_) ||
           item.any_of({"yes", "yeah", "yep", "nothing", "nope", "no"});
  });
}

}  // namespace

void read_questions(Draft& draft) {
  for (At first = 0; first < draft.size();) {
    const At last = draft.sentence_end(first);
    const At mark = last + 1;
    const bool question_mark =
        draft.at(mark).kind == Item::Kind::mark && draft.at(mark).text == "?";
    if (question_mark && is_echo(draft, first, mark)) {
      draft.edit(mark).text.assign(1, ',');
      const int sentence = draft.at(first).sentence;
      const int next = draft.at(mark + 1).sentence;
      for (At i = mark + 1; i < draft.size() && draft.at(i).sentence == next; ++i)
        draft.edit(i).sentence = sentence;
      first = mark + 1;
      continue;
    }
    const At from =
        draft.at(first).kind == Item::Kind::mark
            ? -1
            : whole_question(draft, first, asking_from(draft, first, last, question_mark),
                             question_mark);
    if (from >= 0) {
      if (const At answer = question_mark ? -1 : own_answer(draft, from, last); answer >= 0) {
        draft.mute(from, answer, Item::asked);
        first = mark + 1;
        continue;
      }
      draft.mute(from, last, Item::asked);
      if (!asks_the_party(draft, from, last))
        draft.propose(Happened{What::question}, from, last, question_mark ? 0.9 : 0.7);
    }
    first = mark + 1;
  }
}

}  // namespace stonecall::reading
