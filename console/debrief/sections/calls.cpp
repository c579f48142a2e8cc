#include <algorithm>

#include <fmt/format.h>

#include "console/debrief/chances.hpp"
#include "console/debrief/sections/sections.hpp"
#include "console/debrief/sections/share_chart.hpp"
#include "console/plates/kinds_plate.hpp"
#include "console/plates/sample_text.hpp"

namespace stonecall::debrief::sections {
namespace {

using Kind = advise::Advice::Kind;

std::string_view words(protocol::Says says) {
  switch (says) {
    case protocol::Says::stay:
      return "stay";
    case protocol::Says::move_on:
      return "move on";
    case protocol::Says::get:
      return "get first";
    case protocol::Says::ask:
      return "ask";
    case protocol::Says::free:
      return "free words";
  }
  return "";
}

std::string_view words(Kind kind) {
  switch (kind) {
    case Kind::stay_until:
      return "stay";
    case Kind::move_on:
      return "move on";
    case Kind::get_first:
      return "get first";
    case Kind::ask:
      return "ask";
    case Kind::no_call:
      return "no call";
    case Kind::turn_back:
      return "turn back";
  }
  return "";
}

std::string_view words(protocol::Answered answer) {
  switch (answer) {
    case protocol::Answered::heard:
      return "heard";
    case protocol::Answered::acting:
      return "acting";
    case protocol::Answered::declined:
      return "declined";
  }
  return "";
}

std::string delay_text(Milliseconds delay) {
  return delay < std::chrono::minutes(2)
             ? fmt::format("{:.0f} s", static_cast<double>(delay.count()) / 1000)
             : minutes_text(delay);
}

std::string outcome(const Followed& after) {
  if (after.acted && after.declined)
    return *after.declined < *after.acted ? "declined, then acted on" : "acted on, then declined";
  if (after.acted) return "acted on";
  if (after.declined) return "declined";
  return after.heard ? "heard" : "not answered";
}

std::string advised_words(const CallThen& made) {
  if (!made.then.advice) return "–";
  return std::string(words(made.then.advice->kind));
}

std::string bagged_text(const picture::Picture& picture, const std::vector<std::size_t>& samples) {
  constexpr std::size_t most = 12;
  std::vector<std::string> names;
  for (const std::size_t i : samples) {
    const auto& sample = picture.samples[i];
    if (names.size() == most) break;
    names.push_back(plates::sample_name(sample) +
                    (sample.rock.empty() ? "" : " (" + sample.rock + ")"));
  }
  if (samples.size() > most) names.push_back(fmt::format("{} more", samples.size() - most));
  return listed(names);
}

/// What a basis says after "Rests on" or "No basis", to go on within a sentence.
std::string after_its_first_words(const std::string& basis) {
  return basis.substr(std::min(basis.size(), std::string_view("Rests on").size()));
}

/// What was known of place, time and evidence.
Markup evidence(const CallThen& made, const Pen& pen) {
  const auto& then = made.then;
  std::string place;
  if (made.station.empty()) {
    place = "Not at a station as far as was known.";
  } else {
    place = fmt::format("At {} for {}", made.station, minutes_text(then.clock.here));
    if (then.clock.allotted_minutes)
      place += fmt::format(" of {:.0f} allotted", *then.clock.allotted_minutes);
    place += ".";
  }
  if (then.turn_back)
    place +=
        " Latest departure " + pen.elapsed(made.start + then.turn_back->latest_departure) + ".";
  if (then.clock.word_age && *then.clock.word_age > std::chrono::minutes(2))
    place += " Last word from the field " + minutes_text(*then.clock.word_age) + " old.";
  if (made.on_the_way > 0)
    place += fmt::format(" {} from the field had been said and not yet received.",
                         count(made.on_the_way, "word", "words"));
  Markup text = element("p", place);
  if (!then.here.station.empty())
    text += element("p", "Shares at " + then.here.station +
                             (then.here.basis.any() ? " rest on" : ": no basis") +
                             after_its_first_words(plates::basis_text(then.here.basis)));
  std::string bags = fmt::format("{} bagged, {} fully documented", then.bagged, then.documented);
  constexpr std::size_t most = 4;
  for (std::size_t i = 0; i < std::min(most, made.lacked.size()); ++i)
    bags += (i == 0 ? "; here " : "; ") + made.lacked[i];
  if (made.lacked.size() > most) bags += fmt::format("; {} more", made.lacked.size() - most);
  return text + element("p", bags + ".");
}

Markup advised(const CallThen& made, const picture::CallMade& call, const Pen& pen) {
  const auto& advice = made.then.advice;
  if (!advice)
    return element("p", made.station.empty() ? "Nothing: the party was not at a station."
                                             : "Nothing: there was no basis.");
  Markup text = element("p", element("b", pen.told(advice->sentence, made.start)) + " " +
                                 pen.told(advice->reason, made.start));
  if (!advice->sureness.empty())
    text += element("p", {{"class", "soft"}}, pen.told(advice->sureness, made.start));
  if (call.call.advised.value_or(false))
    text += element("p", {{"class", "soft"}},
                    "The sender marked it as the call that the desk advised.");
  return text;
}

/// What is advised at the same moment with all that was known at the end, and how far the best
/// departure then lies from the one that was advised.
Markup advised_at_the_end(const CallThen& made, const Pen& pen) {
  const auto& then = made.then.advice;
  const auto& end = made.advised_at_the_end;
  if (!then || !end) return {};
  Markup text = element("h4", "Advised with all that was known at the end");
  text += end->sentence == then->sentence
              ? element("p", "The same. " + pen.told(end->reason, made.start))
              : element("p", element("b", pen.told(end->sentence, made.start)) + " " +
                                 pen.told(end->reason, made.start));
  if (!made.best_in_hindsight) return text;
  std::string best = fmt::format("By that the best departure from {} was {}", made.station,
                                 pen.elapsed(*made.best_in_hindsight));
  if (then->depart) {
    const auto later = *made.best_in_hindsight - made.start - *then->depart;
    best += std::chrono::abs(later) < std::chrono::seconds(30)
                ? ", as advised then"
                : fmt::format(", {} {} than advised then", minutes_text(std::chrono::abs(later)),
                              later.count() > 0 ? "later" : "earlier");
  }
  return text + element("p", {{"class", "soft"}}, best + ".");
}

Markup replies(const picture::CallMade& call, const Pen& pen) {
  Markup list;
  for (const auto& reply : call.replies) {
    std::string line = fmt::format("{} {}: {}", pen.elapsed(reply.origin.at), reply.origin.from,
                                   words(reply.answer));
    if (!reply.text.empty()) line += ", “" + reply.text + "”";
    list += element("li", line);
  }
  return list;
}

Markup after(const CallThen& made, const picture::CallMade& call, const picture::Picture& picture,
             const Pen& pen) {
  const Followed& followed = made.followed;
  Markup list = replies(call, pen);
  if (call.replies.empty() && !protocol::only_states_a_chance(call.call))
    list += element("li", {{"class", "act"}}, "Never answered.");
  if (followed.heard_too_late())
    list += element("li", {{"class", "act"}},
                    fmt::format("Too late: it was said to be useful until {}.",
                                pen.elapsed(call.call.useful_until->instant)));
  std::string until = "By the end of the log";
  if (followed.left) {
    until = "By then";
    std::string line =
        fmt::format("The party left {} at {}", followed.station, pen.elapsed(*followed.left));
    if (call.call.until && (!call.call.station || *call.call.station == followed.station)) {
      const auto over = *followed.left - call.call.until->instant;
      line += std::chrono::abs(over) < std::chrono::seconds(30)
                  ? ", when the call said"
                  : fmt::format(", {} {} the call's {}", minutes_text(std::chrono::abs(over)),
                                over.count() > 0 ? "after" : "before",
                                pen.elapsed(call.call.until->instant));
    }
    list += element("li", line + ".");
  }
  std::vector<std::string> done;
  if (!followed.samples.empty()) done.push_back("bagged " + bagged_text(picture, followed.samples));
  if (!followed.looks.empty()) {
    std::size_t rocks = 0;
    for (const std::size_t i : followed.looks)
      rocks += static_cast<std::size_t>(picture.looks[i].total);
    done.push_back(fmt::format("counted {} in {}", count(rocks, "rock", "rocks"),
                               count(followed.looks.size(), "look", "looks")));
  }
  if (!followed.new_kinds.empty())
    done.push_back("met " + listed(followed.new_kinds) + " for the first time");
  list += element("li", until + (done.empty() ? " nothing was bagged or counted."
                                              : " it had " + listed(done) + "."));
  if (followed.sample_lacks) {
    const auto lack = [](const std::vector<picture::Gap>& gaps) {
      return gaps.empty() ? std::string("lacks nothing") : plates::gaps_text(gaps);
    };
    list += element("li", fmt::format("Sample {} then {}; at the end it {}.", *call.call.sample,
                                      lack(made.sample_lacked), lack(*followed.sample_lacks)));
  }
  if (call.call.chance && call.call.outcome) {
    const auto came_true = outcome_of(picture, call.origin.id);
    list += element("li", fmt::format("Stated beforehand: {} that “{}”. {}",
                                      chance_text(*call.call.chance), *call.call.outcome,
                                      !came_true   ? "For the room to judge."
                                      : *came_true ? "It came true."
                                                   : "It did not come true."));
  }
  return element("ul", list);
}

/// The kinds of a stop that a call is looked back on with: those that either time says something
/// of, of these the commonest, in the plan's order. Both grounds have the same kinds.
std::vector<std::size_t> kinds_to_compare(const advise::Ground& then, const advise::Ground& end) {
  const auto mean = [](const advise::KindRow& row) { return row.share ? row.share->mean : -1; };
  const auto weight = [&](std::size_t i) {
    return std::max(mean(end.kinds[i]), mean(then.kinds[i]));
  };
  std::vector<std::size_t> rows;
  for (std::size_t i = 0; i < end.kinds.size(); ++i)
    if (end.kinds[i].bagged > 0 || weight(i) >= 0) rows.push_back(i);
  constexpr std::size_t most = 6;
  std::ranges::stable_sort(rows, std::greater{}, weight);
  if (rows.size() > most) rows.resize(most);
  std::ranges::sort(rows);
  return rows;
}

/// What either time knew of each kind at the stop, side by side, with a chart in each row.
Markup then_and_end(const CallThen& made, const Stop& stop, const Pen& pen) {
  const auto& end = stop.ground;
  const advise::Ground then = plates::in_order_of(made.then.here, end);
  Table table(fmt::format("Kinds at {} as known then → at the end. Share: mean and 90 % interval; "
                          "filled: then, ring: at the end.",
                          stop.station),
              {{"Kind", false, true},
               {share_axis()},
               {"Share then", true},
               {"at the end", true},
               {"Counted", true},
               {"Bagged", true}});
  for (const std::size_t i : kinds_to_compare(then, end)) {
    auto drawn = plates::then_and_end_plate(then, end, {i}).rows.front();
    const auto share = [](const std::optional<advise::Figure>& figure) {
      return figure ? plates::share_text(*figure) : std::string("no basis");
    };
    table.row({pen.kind(end.kinds[i].rock), share_in_row(std::move(drawn), pen),
               share(then.kinds[i].share), share(end.kinds[i].share),
               fmt::format("{} → {}", then.kinds[i].counted, end.kinds[i].counted),
               fmt::format("{} → {}", then.kinds[i].bagged, end.kinds[i].bagged)});
  }
  return table.empty() ? Markup{} : table.markup();
}

Markup one(const Debrief& debrief, std::size_t number, const Pen& pen) {
  const CallThen& made = debrief.calls[number];
  const auto& picture = *debrief.picture;
  const auto& call = picture.calls[made.call];
  const auto column = [](const std::string& head, const Markup& text) {
    return element("div", element("h4", head) + text);
  };
  Markup part = element(
      "h3", {{"id", fmt::format("call-{}", number + 1)}},
      fmt::format("Call {} at {}, {}", number + 1, pen.elapsed(call.origin.at), call.origin.from));
  part += element("blockquote", element("p", call.call.text));
  part +=
      element("div", {{"class", "columns"}},
              column("Known then", evidence(made, pen)) +
                  column("Advised then", advised(made, call, pen) + advised_at_the_end(made, pen)) +
                  column("What followed", after(made, call, picture, pen)));
  if (const Stop* stop = stop_at(debrief, made.then.here.station))
    part += then_and_end(made, *stop, pen);
  return element("article", part);
}

}  // namespace

Markup calls(const Debrief& debrief, Pen& pen) {
  const auto& picture = *debrief.picture;
  if (debrief.calls.empty()) return element("p", "No call was made.");
  Markup page = element(
      "p",
      "Each call with what had been received when it was sent, the call that the method advises "
      "on that evidence, and what came after it. After is not because: the party may have had "
      "reasons of its own.");
  Table table("Calls in order of time.", {{"Call"},
                                          {"At", true},
                                          {"It said"},
                                          {"Advised then"},
                                          {"Where"},
                                          {"Answer"},
                                          {"Heard after", true},
                                          {"In time"}});
  for (std::size_t i = 0; i < debrief.calls.size(); ++i) {
    const CallThen& made = debrief.calls[i];
    const auto& call = picture.calls[made.call];
    const auto& after = made.followed;
    const bool chance = protocol::only_states_a_chance(call.call);
    table.row({element("a", {{"href", fmt::format("#call-{}", i + 1)}}, fmt::format("{}", i + 1)),
               pen.elapsed(call.origin.at),
               chance           ? "a chance"
               : call.call.says ? std::string(words(*call.call.says))
                                : "free words",
               advised_words(made), made.station.empty() ? "on the way" : made.station,
               chance && !after.heard ? "–" : outcome(after),
               after.heard ? delay_text(*after.heard - call.origin.at) : "–",
               !after.in_time || !after.heard ? Markup("–")
               : *after.in_time               ? Markup("yes")
                                              : element("span", {{"class", "act"}}, "too late")});
  }
  page += table.markup();
  for (std::size_t i = 0; i < debrief.calls.size(); ++i) page += one(debrief, i, pen);
  return page;
}

}  // namespace stonecall::debrief::sections
