#include "console/commands/speech.hpp"

#include <mutex>

namespace stonecall::commands {

struct Speech::Kept {
  std::mutex mutex;
  reading::Vocabulary vocabulary;
  std::shared_ptr<const reading::Reader> reader;

  std::weak_ptr<const picture::Picture> picture;
  std::shared_ptr<const reading::Contexts> contexts;

  std::shared_ptr<const reading::Contexts> contexts_of(const picture::PicturePtr& wanted) {
    const std::scoped_lock lock(mutex);
    if (!contexts || picture.lock() != wanted) {
      contexts = std::make_shared<const reading::Contexts>(*wanted);
      picture = wanted;
    }
    return contexts;
  }

  std::shared_ptr<const reading::Reader> reader_for(const protocol::Plan& plan) {
    auto wanted = reading::vocabulary_of(plan);
    const std::scoped_lock lock(mutex);
    if (!reader || wanted != vocabulary) {
      reader = std::make_shared<const reading::Reader>(wanted);
      vocabulary = std::move(wanted);
    }
    return reader;
  }

  std::vector<reading::Proposed> read(std::string_view text, reading::Context context,
                                      const picture::Picture& picture, picture::Instant now) {
    return reading::read_note(*reader_for(*picture.plan), text, std::move(context), picture, now);
  }
};

Speech::Speech() : kept_(std::make_unique<Kept>()) {}
Speech::~Speech() = default;

std::vector<reading::Proposed> Speech::read(std::string_view text,
                                            const picture::PicturePtr& picture,
                                            picture::Instant now) const {
  if (!picture || !picture->plan) return {};
  return kept_->read(text, kept_->contexts_of(picture)->at(*picture, now), *picture, now);
}

std::vector<reading::Proposed> Speech::read(std::string_view text, const picture::Picture& picture,
                                            picture::Instant now) const {
  if (!picture.plan) return {};
  return kept_->read(text, reading::context_at(picture, now), picture, now);
}

}  // namespace stonecall::commands
