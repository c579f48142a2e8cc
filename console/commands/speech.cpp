#include "console/commands/speech.hpp"

#include <mutex>

namespace stonecall::commands {

struct Speech::Kept {
  std::mutex mutex;
  reading::Vocabulary vocabulary;
  std::shared_ptr<const reading::Reader> reader;

  std::shared_ptr<const reading::Reader> reader_for(const protocol::Plan& plan) {
    auto wanted = reading::vocabulary_of(plan);
    const std::scoped_lock lock(mutex);
    if (!reader || wanted != vocabulary) {
      reader = std::make_shared<const reading::Reader>(wanted);
      vocabulary = std::move(wanted);
    }
    return reader;
  }
};

Speech::Speech() : kept_(std::make_unique<Kept>()) {}
Speech::~Speech() = default;

std::vector<reading::Proposed> Speech::read(std::string_view text, const picture::Picture& picture,
                                            picture::Instant now) const {
  if (!picture.plan) return {};
  const auto context = reading::context_at(picture, now);
  return reading::proposed(kept_->reader_for(*picture.plan)->read(text, context), text, context,
                           picture, now);
}

}  // namespace stonecall::commands
