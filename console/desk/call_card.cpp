#include "console/desk/call_card.hpp"

#include <algorithm>
#include <cmath>

#include <fmt/format.h>

namespace stonecall::desk {
namespace {

using advise::Advice;

// Design pixels.
constexpr float left_margin = 18, right_margin = 12, upper_margin = 10, lower_margin = 10;
constexpr float bar_width = 4;
constexpr float least_below = 4;  // of the last line that has room

/// Why nothing is advised.
CardText no_advice(const View& view) {
  if (!view.picture || view.picture->visits.empty())
    return {"No advice yet.", "The party has not been heard of at a station.", ""};
  const protocol::Plan* plan = view.plan();
  if (!plan)
    return {"No advice.", "Without a plan nothing says what is wanted and when to be back.", ""};
  if (view.assessment && !view.assessment->clock.station)
    return {"No advice on the way.",
            "The party is between stations; the weighing begins again at the next.", ""};
  if (view.assessment && view.assessment->clock.station == plan->base.station) {
    const bool back = std::ranges::any_of(view.picture->visits, [&](const picture::Visit& visit) {
      return visit.station != plan->base.station;
    });
    return {"No advice at the base.",
            back ? "The party is back; the weighing begins again at the next station."
                 : "Stay or move is weighed from the first station on.",
            ""};
  }
  return {"No advice yet.", "It is being worked out, or there is nothing here to weigh.", ""};
}

}  // namespace

CardText advised_card(const View& view, const ClockText& clock) {
  const Advice* advice = view.advice();
  if (!advice) return no_advice(view);
  CardText card{clock.told(advice->sentence), clock.told(advice->reason),
                clock.told(advice->sureness), advice->kind != Advice::Kind::no_call};
  if (card.sentence.empty()) card.sentence = "No call: the choice is inside the noise.";
  return card;
}

std::optional<CardText> end_card(const View& view, const ClockText& clock) {
  const AtTheEnd* end = view.end();
  if (!end) return std::nullopt;
  if (!end->here.advice) return CardText{"Known at the end: nothing to advise here.", "", ""};
  const Advice* then = view.advice();
  const Advice& advice = *end->here.advice;
  const bool same = then && then->sentence == advice.sentence;
  CardText card;
  card.sentence = "Known at the end: " + (same ? "the same call." : clock.told(advice.sentence));
  card.reason = clock.told(advice.reason);
  if (!advice.depart && end->here.departure && !end->here.departure->late)
    card.sureness = fmt::format(
        "By that the best departure was {}.",
        clock.minutes(view.assessment->now + protocol::from_minutes(end->here.departure->best)));
  return card;
}

Card::Card(const Canvas& canvas, const CardText& text, float width, Type head)
    : whole_(text.sentence + " " + text.reason + " " + text.sureness), act_(text.act) {
  const float room = width - canvas.px(left_margin + right_margin);
  const auto laid = [&](Font font, const std::string& words, std::size_t soft_from) {
    return Paragraph{
        font, words, soft_from,
        words.empty() ? std::vector<WrappedLine>{} : wrap(canvas.fonts(), font, words, room)};
  };
  constexpr Font below{Type::text};
  constexpr std::size_t nowhere = std::string::npos;
  paragraphs_.push_back(laid({head, Weight::semibold}, text.sentence, nowhere));
  // The reason and how sure begin a line each, unless one runs on behind the other in a line less.
  const std::string between = text.reason.empty() || text.sureness.empty() ? "" : " ";
  Paragraph together =
      laid(below, text.reason + between + text.sureness, text.reason.size() + between.size());
  Paragraph reason = laid(below, text.reason, nowhere), sureness = laid(below, text.sureness, 0);
  if (together.lines.size() < reason.lines.size() + sureness.lines.size()) {
    paragraphs_.push_back(std::move(together));
  } else {
    paragraphs_.push_back(std::move(reason));
    paragraphs_.push_back(std::move(sureness));
  }
  height_ = canvas.px(upper_margin + lower_margin);
  for (const Paragraph& each : paragraphs_)
    height_ += static_cast<float>(each.lines.size()) * canvas.fonts().line_height(each.font.type);
}

void Card::draw(Canvas& canvas, Rect box, bool current) const {
  if (box.h < height_) canvas.tip(box, whole_);
  if (current) {
    canvas.fill(box, Ink::panel);
    canvas.fill({box.x, box.y, canvas.px(bar_width), box.h}, act_ ? Ink::rust : Ink::edge);
  } else {
    canvas.outline(box, Ink::edge);
  }
  const Fonts& f = canvas.fonts();
  const Ink ink = current ? Ink::ink : Ink::soft;
  const float x = box.x + canvas.px(left_margin);
  const float width = box.w - canvas.px(left_margin + right_margin);
  const float bottom = box.bottom() - canvas.px(least_below);
  float y = box.y + canvas.px(upper_margin);
  for (const Paragraph& each : paragraphs_) {
    const float line = f.line_height(each.font.type);
    const float above = std::round((line + f.cap_height(each.font.type)) / 2);
    for (std::size_t i = 0; i < each.lines.size() && y + line <= bottom; ++i) {
      const auto [begin, end] = each.lines[i];
      const std::string_view rest = std::string_view(each.text).substr(begin);
      // The last line that has room says that more was there.
      const bool cut = y + 2 * line > bottom && i + 1 < each.lines.size();
      const std::string drawn =
          cut ? ellipsis(f, each.font, rest, width) : std::string(rest.substr(0, end - begin));
      const std::size_t hard =
          std::min(drawn.size(), each.soft_from - std::min(each.soft_from, begin));
      float at = x;
      if (hard > 0) at += canvas.text({at, y + above}, each.font, ink, drawn.substr(0, hard));
      if (hard < drawn.size())
        canvas.text({at, y + above}, each.font, Ink::soft, drawn.substr(hard));
      y += line;
    }
  }
}

}  // namespace stonecall::desk
