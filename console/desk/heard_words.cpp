#include "console/desk/heard_words.hpp"

#include <fmt/format.h>

#include "console/desk/alteration_text.hpp"
#include "console/desk/fact_text.hpp"
#include "console/desk/plan_changes.hpp"
#include "protocol/utf8.hpp"

namespace stonecall::desk {
namespace {

using picture::HeardLine;
using protocol::EventPtr;
using protocol::Uuid;

/// The first words of a call or a question, to be named by.
std::string first_words(std::string_view text) {
  constexpr std::size_t most = 32;  // bytes
  if (text.size() <= most) return std::string(text);
  std::size_t end = text.rfind(' ', most);
  if (end == std::string_view::npos || end == 0) end = protocol::utf8::beginning(text, most).size();
  while (end > 0 && (text[end - 1] == ',' || text[end - 1] == ';' || text[end - 1] == ':')) --end;
  return std::string(text.substr(0, end)) + "…";
}

/// What a call or an answer is, and to what: between voice notes its words alone do not say.
struct Exchange {
  const picture::Picture& picture;
  const ClockText& clock;

  template <class Made>
  static const Made* find(const picture::SharedList<Made>& all, const Uuid& id) {
    // Most answers come soon.
    for (std::size_t i = all.size(); i-- > 0;)
      if (all[i].origin.id == id) return &all[i];
    return nullptr;
  }
  std::string operator()(const protocol::Call& call) const {
    return (protocol::only_states_a_chance(call) ? "Chance stated: " : "Call: ") +
           call_text(call, clock);
  }
  std::string operator()(const protocol::CallAnswer& answer) const {
    const auto* made = find(picture.calls, answer.call);
    if (!made) return {};
    const std::string_view done = answer.answer == protocol::Answered::heard    ? "Heard"
                                  : answer.answer == protocol::Answered::acting ? "Acting on"
                                                                                : "Declined";
    return fmt::format("{} the call “{}”{}", done, first_words(made->call.text),
                       answer.text ? ": " + *answer.text : std::string("."));
  }
  std::string operator()(const protocol::Question& question) const {
    return "Question: " + question.text;
  }
  std::string operator()(const protocol::Answer& answer) const {
    const auto* asked = find(picture.questions, answer.question);
    return asked ? fmt::format("To “{}”: {}", first_words(asked->question.text), answer.text)
                 : "Answer: " + answer.text;
  }
  template <class Other>
  std::string operator()(const Other&) const {
    return {};
  }
};

/// What was taken back, by its first words; why.
std::string retraction_words(const View& view, const protocol::Retract& retract,
                             LookedUp& looked_up) {
  const std::string& what = looked_up.find(view.picture, retract.target, "taken back", [&] {
    const EventPtr target = picture::statement(*view.picture, retract.target, false);
    if (!target) return std::string();
    const auto* reading = std::get_if<protocol::Reading>(&target->body);
    return first_words(reading ? chip_text(reading->fact) : line_text(*target));
  });
  return (what.empty() ? "Taken back" : "Took back “" + what + "”") +
         (retract.why ? ": " + *retract.why : ".");
}

}  // namespace

std::string plain_words(const HeardLine& line) {
  const auto* given = std::get_if<protocol::PlanGiven>(&line.event->body);
  return given ? plan_line_text(*given, line.replaced) : line_text(*line.event);
}

const std::string& LookedUp::find(const picture::PicturePtr& picture, const Uuid& event,
                                  std::string what, const std::function<std::string()>& look_up) {
  if (picture_ != picture) {
    words_.clear();
    picture_ = picture;
  }
  const auto [place, fresh] = words_.try_emplace({event, std::move(what)});
  if (fresh) place->second = look_up();
  return place->second;
}

std::string shown_words(const View& view, const HeardLine& line, const ClockText& clock,
                        LookedUp& looked_up) {
  if (const auto* amend = std::get_if<protocol::Amend>(&line.event->body)) {
    const std::string text = "Amended: " + chip_words(view, *amend, true, clock, looked_up);
    return amend->why ? text + " (" + *amend->why + ")" : text;
  }
  if (const auto* retract = std::get_if<protocol::Retract>(&line.event->body);
      retract && view.picture)
    return retraction_words(view, *retract, looked_up);
  const std::string exchanged =
      view.picture ? std::visit(Exchange{*view.picture, clock}, line.event->body) : std::string();
  return exchanged.empty() ? plain_words(line) : exchanged;
}

std::string chip_words(const View& view, const protocol::Fact& fact, bool decided,
                       const ClockText& clock, LookedUp& looked_up) {
  const auto* amend = std::get_if<protocol::Amend>(&fact);
  if (!amend || !view.picture) return chip_text(fact);
  return looked_up.find(
      view.picture, amend->target,
      fmt::format("{}{}{}", decided, static_cast<int>(clock.mode), amend->changes.dump()), [&] {
        const EventPtr target = picture::statement(*view.picture, amend->target, decided);
        return correction_text(*amend, target.get(), clock);
      });
}

std::string line_aside(const View& view, const HeardLine& line) {
  std::string aside = line.amended && !line.retracted ? "amended" : "";
  const bool waits = view.mode != Mode::replay && !line.event->seq &&
                     view.link.kind != LinkState::Kind::none &&
                     view.link.kind != LinkState::Kind::connected;
  if (waits) aside += aside.empty() ? "waits to go out" : ", waits to go out";
  return aside;
}

}  // namespace stonecall::desk
