#pragma once

#include <functional>
#include <memory>
#include <string>

#include "console/desk/desk.hpp"
#include "console/desk/source.hpp"
#include "console/desk/window.hpp"

namespace stonecall::desk {

/// Who sits here, under whose name what is written goes out.
struct Sitting {
  std::string name = "DESK";
  std::function<bool()> asked_to_leave = {};  ///< from outside the window; looked at each second
};

/// Gives posts their id, sender and time and hands them and the player's commands to the source.
/// False: leave.
bool carry_out(const Commands& commands, Desk& desk, Source& source, const Sitting& sitting,
               Window* window);

/// Opens the window and keeps the desk in it until it is closed. Sleeps while nothing changes; a
/// second at the longest, for the clocks. Returns the settings to remember; `keep` has them too,
/// with what is half typed, about a second after they changed, so that a desk that is killed is
/// found again.
protocol::Result<Settings> run(const Settings& settings,
                               const std::function<std::unique_ptr<Source>(Source::Wake)>& open,
                               const ReadSpeech& read, const Sitting& sitting,
                               const std::function<void(const Settings&)>& keep);

/// Draws the desk as it stands, without a window on the screen.
protocol::Result<Image> screenshot(Desk& desk, const View& view, const ReadSpeech& read);

}  // namespace stonecall::desk
