#include "console/desk/news.hpp"

#include <algorithm>
#include <array>
#include <chrono>

#include <boost/uuid/uuid_io.hpp>

#include "console/desk/call_life.hpp"
#include "console/desk/fact_text.hpp"
#include "console/desk/numbers_age.hpp"

namespace stonecall::desk {
namespace {

using advise::Advice;

constexpr std::array watched{RegionId::heard, RegionId::kinds, RegionId::call};
/// What is new stands near the end of its list.
constexpr std::size_t flags_looked_at = 64, lines_looked_at = 256;

void changes_of_call(const View& view, std::vector<Change>& out) {
  if (view.assessment && view.assessment->advice && !outdated(view)) {
    const Advice& advice = *view.assessment->advice;
    if (advice.kind != Advice::Kind::no_call)
      out.push_back({"advice " + view.assessment->here.station +
                         std::to_string(static_cast<int>(advice.kind)),
                     "advised: " + advice.sentence.elapsed()});
  }
  for (const auto& call : view.picture->calls) {
    const CallLife life = life_of(call, view);
    if (!life.wants_eyes) continue;
    const bool declined =
        !call.replies.empty() && call.replies.back().answer == protocol::Answered::declined;
    out.push_back({(declined ? "declined " : "unheard ") + to_string(call.origin.id),
                   life.words + ": " + call.call.text});
  }
  for (const auto& question : view.picture->questions)
    if (question.answers.empty())
      out.push_back({"question " + to_string(question.origin.id), question.question.text});
}

void changes_of_kinds(const View& view, std::vector<Change>& out) {
  if (view.assessment)
    for (const auto& d : view.assessment->whole.disagreements)
      out.push_back({"said " + d.caller + d.rock + std::to_string(d.at.time_since_epoch().count()),
                     d.caller + " and the counts disagree on " + d.rock});
  const auto& flags = view.picture->flags;
  for (std::size_t i = flags.size() - std::min(flags.size(), flags_looked_at); i < flags.size();
       ++i)
    out.push_back({"flag " + to_string(flags[i].about) + flags[i].text, flags[i].text});
}

void changes_of_heard(const View& view, const std::string& me, std::vector<Change>& out) {
  const auto& heard = view.picture->heard;
  for (std::size_t i = heard.size() - std::min(heard.size(), lines_looked_at); i < heard.size();
       ++i) {
    const protocol::Event& event = *heard[i].event;
    const bool alters = std::holds_alternative<protocol::Amend>(event.body) ||
                        std::holds_alternative<protocol::Retract>(event.body);
    if (alters && event.from != me)
      out.push_back({to_string(event.id), event.from + ": " + line_text(event)});
  }
}

}  // namespace

std::vector<Change> wants_eyes(RegionId region, const View& view, const std::string& me) {
  std::vector<Change> out;
  if (!view.picture || view.mode == Mode::replay) return out;
  if (region == RegionId::call) changes_of_call(view, out);
  if (region == RegionId::kinds) changes_of_kinds(view, out);
  if (region == RegionId::heard) changes_of_heard(view, me, out);
  return out;
}

void News::follow(const View& view, RegionId focus, const std::string& me) {
  using namespace std::chrono_literals;
  // Calls grow old also while nothing comes.
  const bool later = view.now - at_ >= 5s || view.now < at_;
  if (picture_ != view.picture || assessment_ != view.assessment || later) {
    picture_ = view.picture;
    assessment_ = view.assessment;
    at_ = view.now;
    for (RegionId region : watched) regions_[region].now = wants_eyes(region, view, me);
  }
  const bool caught_up =
      view.picture && view.assessed == view.picture &&
      (view.link.kind == LinkState::Kind::connected || view.link.kind == LinkState::Kind::none);
  for (auto& [region, of] : regions_) {
    if (!begun_ || region == focus)
      for (const Change& each : of.now) of.seen.insert(each.key);
    of.unseen.clear();
    for (const Change& each : of.now)
      if (!of.seen.contains(each.key)) of.unseen.push_back(each);
  }
  begun_ = begun_ || caught_up;
}

const std::vector<Change>& News::unseen(RegionId region) const {
  static const std::vector<Change> none;
  const auto found = regions_.find(region);
  return found == regions_.end() ? none : found->second.unseen;
}

}  // namespace stonecall::desk
