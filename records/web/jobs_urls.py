"""The pages of jobs, by their addresses below /jobs/."""

from django.urls import URLPattern, URLResolver, path

from records.web import jobs, jobs_preview, jobs_sheet, jobs_steps

urlpatterns: list[URLPattern | URLResolver] = [
    path("", jobs.jobs_page, name="jobs"),
    path("new/", jobs.draft_page, name="job-draft"),
    path("from-sheet/", jobs_sheet.sheet_page, name="job-sheet"),
    path("<int:job_id>/", jobs.job_page, name="job"),
    path("<int:job_id>/details/", jobs.details_page, name="job-details"),
    path("<int:job_id>/preview/", jobs_preview.preview_page, name="job-preview"),
    path("<int:job_id>/steps/new/", jobs_steps.choose_page, name="job-step-choose"),
    path("<int:job_id>/steps/new/<str:verb>/", jobs_steps.add_page, name="job-step-add"),
    path("<int:job_id>/steps/<int:number>/", jobs_steps.edit_page, name="job-step"),
]
