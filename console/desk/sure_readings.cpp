#include "console/desk/sure_readings.hpp"

#include "console/desk/deciding.hpp"

namespace stonecall::desk {
namespace {

/// A reading at least this sure is accepted by itself, where the setting says so. Our own choice:
/// the reader's rank is no frequency.
constexpr double sure_enough = 0.9;
/// Notes typed here whose proposals may still come; most notes that state nothing never have any.
constexpr std::size_t notes_awaited = 8;

}  // namespace

void accept_sure_readings(Desk& desk, const View& view, Commands& out) {
  if (desk.own_notes.empty() || !view.picture || !view.proposals) return;
  if (!desk.settings.accept_sure || view.mode == Mode::replay) {
    desk.own_notes.clear();  // switched on later, it does not reach back
    return;
  }
  if (desk.own_notes.size() > notes_awaited)
    desk.own_notes.erase(desk.own_notes.begin(), desk.own_notes.end() - notes_awaited);
  const auto& heard = view.picture->heard;
  std::size_t looked_at = 0;
  constexpr std::size_t far_enough = 200;  // what was just typed stands near the end
  for (auto each = heard.rbegin(); each != heard.rend() && ++looked_at < far_enough; ++each) {
    const picture::HeardLine& line = *each;
    auto ours = std::find(desk.own_notes.begin(), desk.own_notes.end(), line.event->id);
    if (ours == desk.own_notes.end() || !view.proposals->find(line.event->id)) continue;
    for (const Proposal* proposal : undecided(view, line))
      if (proposal->sureness >= sure_enough)
        decide(line.event->id, *proposal, protocol::Outcome::accepted, out, true);
    desk.own_notes.erase(ours);
  }
}

}  // namespace stonecall::desk
