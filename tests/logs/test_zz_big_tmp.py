import time, csv, io, openpyxl, pytest
from datetime import date, timedelta
from tests.conftest import *
from tests.scenario import build_business
def test_big(committed):
    cast=build_business("Big Iron"); api=cast.api(cast.head)
    names=["Back squat","Bench press","Deadlift","Pull-up","Front squat"]
    rows=[(str(date(2010,1,1)+timedelta(days=i//20)), names[(i//4)%5], i%4+1, 80, 5, 7) for i in range(50000)]
    t=io.StringIO(); csv.writer(t).writerows([("Date","Exercise","Set","Weight (kg)","Reps","RPE"),*rows])
    s=time.time(); a=api.post(f"/api/v1/log-imports?client={cast.anna.id}", t.getvalue(), content_type="text/csv"); print("upload csv",a.status_code,time.time()-s)
    p=f"/api/v1/log-imports/{a.json()['id']}"
    s=time.time(); b=api.get(p); print("get",b.status_code,time.time()-s)
    s=time.time(); b=api.post(p+"/dry-run",{},format="json"); print("dry",b.status_code,time.time()-s,b.content[-600:])
    s=time.time(); b=api.post(p+"/commit",{},format="json"); print("commit",b.status_code,time.time()-s)
    s=time.time(); b=api.post(p+"/commit",{},format="json"); print("again",b.status_code,time.time()-s, b.json()["result"]["set_logs"])
    bk=openpyxl.Workbook()
    for r in [("Date","Exercise","Set","Weight (kg)","Reps","RPE"),*rows]: bk.active.append(r)
    k=io.BytesIO(); bk.save(k)
    s=time.time(); a=api.post(f"/api/v1/log-imports?client={cast.anna.id}", k.getvalue(), content_type="application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"); print("upload xlsx",len(k.getvalue()),a.status_code,time.time()-s)
