// Any bytes as captions: no crash, and the same cues and faults wherever the bytes are cut.
#include <cstdint>
#include <cstdlib>
#include <string_view>

#include "protocol/captions.hpp"

using namespace stonecall::protocol;

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  if (size == 0) return 0;
  const auto format = data[0] & 1 ? CaptionFormat::web_vtt : CaptionFormat::sub_rip;
  const std::size_t step = 1 + (data[0] >> 1);
  const std::string_view bytes(reinterpret_cast<const char*>(data) + 1, size - 1);

  CaptionReader whole(format);
  whole.feed(bytes);
  whole.finish();
  CaptionReader pieces(format);
  for (std::size_t at = 0; at < bytes.size(); at += step) pieces.feed(bytes.substr(at, step));
  pieces.finish();

  const auto cues = whole.take_cues();
  if (cues != pieces.take_cues() || whole.take_faults() != pieces.take_faults()) std::abort();
  for (const Cue& cue : cues) {
    if (cue.end < cue.begin || cue.text.empty()) std::abort();
    if (!parse_event(to_line(voice_note(cue, {}, "fuzz", "RECORDER")))) std::abort();
  }
  return 0;
}
